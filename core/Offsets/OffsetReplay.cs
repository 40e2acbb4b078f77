using PavementWatch.Core.Statistics;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// Goes through a window day by day as the nightly fits would have: predicts each day from the days before it, looks
/// how far off it was, and only then learns from it. What it learns from a reading depends on how far off that was.
/// </summary>
/// <remarks>
/// Three ridge regressions of different memory are averaged: a short one held tightly to the handbook, which follows
/// the surface as it is this week; a middle one; a long one held loosely, which knows how this spot answers to cloud
/// and humidity. Being linear, their mean is one set of coefficients.
/// </remarks>
internal sealed class OffsetReplay
{
    /// <summary>[spreads] A reading counts fully up to here, less beyond, hardly at all past three times this.</summary>
    private const double FullUpTo = 3.5;

    private const int CalibratedDays = 24;
    private const int SparseEvery = 4;
    private const double LeastSpreadKelvin = 0.15;

    private static readonly Member[] Members = [new(3, 5), new(10, 1), new(40, 0.3)];

    private readonly WeatherGrid _grid;
    private readonly double[]?[] _rows;
    private readonly double[] _offsets;
    private readonly double[][] _pulls;
    private readonly double[] _prior;
    private readonly NormalEquations[] _sums;
    private readonly NormalEquations _day;
    private readonly double[] _scratch;
    private readonly List<double>[] _sizes = [[], [], []];
    private readonly double[] _spreads = [1.5, 2, 3];

    public OffsetReplay(WeatherGrid grid, double[]?[] rows, double[] offsets, OffsetInputs inputs)
    {
        _grid = grid;
        _rows = rows;
        _offsets = offsets;
        var features = OffsetFeatures.Of(inputs);
        _prior = [.. features.Select(f => f.Prior)];
        _pulls = Array.ConvertAll(Members, m => features.Select(f => f.Pull * m.PullFactor).ToArray());
        _sums = Array.ConvertAll(Members, _ => new NormalEquations(features.Count));
        _day = new NormalEquations(features.Count);
        _scratch = new double[features.Count * features.Count];
        Errors = new double[grid.Count];
        Array.Fill(Errors, double.NaN);
        Coefficients = Run();
    }

    /// <summary>The offset's coefficients after the last day.</summary>
    public double[] Coefficients { get; }

    /// <summary>[K] Measured minus predicted offset of every step, each predicted before its day was learnt; NaN where unknown.</summary>
    public double[] Errors { get; }

    private double[] Run()
    {
        // Of nothing measured nothing is learnt: what the ridge is drawn to stays.
        if (Array.TrueForAll(_offsets, double.IsNaN))
            return _prior;
        var perDay = _grid.StepsIn(24);
        var days = (_grid.Count + perDay - 1) / perDay;
        var coefficients = Solve();
        for (var day = days - 1; day >= 0; day--)
        {
            // Days are counted back from the end. Long past ones need no fit of their own each.
            if (day < days - 1 && (day < CalibratedDays || day % SparseEvery == 0))
                coefficients = Solve();
            Learn(coefficients, Math.Max(0, _grid.Count - (day + 1) * perDay), _grid.Count - day * perDay, perDay);
        }

        return Solve();
    }

    private double[] Solve()
    {
        var mean = new double[_prior.Length];
        for (var m = 0; m < Members.Length; m++)
        {
            var one = _sums[m].Solve(_pulls[m], _prior, _scratch);
            for (var j = 0; j < mean.Length; j++)
                mean[j] += one[j] / Members.Length;
        }

        return mean;
    }

    private void Learn(double[] coefficients, int from, int to, int perDay)
    {
        var rows = new List<double[]>(to - from);
        var offsets = new List<double>(to - from);
        var weights = new List<double>(to - from);
        for (var i = from; i < to; i++)
        {
            if (_rows[i] is not { } row || double.IsNaN(_offsets[i]))
                continue;
            Errors[i] = _offsets[i] - NormalEquations.Dot(row, coefficients);
            var sun = SunHeight.Of(_grid.Elevation[i]);
            rows.Add(row);
            offsets.Add(_offsets[i]);
            weights.Add(_grid.SurfaceWeight[i] * Weight(Math.Abs(Errors[i]) / (FullUpTo * _spreads[sun])));
            _sizes[sun].Add(Math.Abs(Errors[i]));
        }

        for (var c = 0; c < _sizes.Length; c++)
        {
            // About a fortnight of each.
            var most = perDay * 6;
            if (_sizes[c].Count > most)
                _sizes[c].RemoveRange(0, _sizes[c].Count - most);
            if (_sizes[c].Count > 12)
                _spreads[c] = Math.Max(LeastSpreadKelvin, Robust.Median([.. _sizes[c]]) / 0.6745);
        }

        _day.Clear();
        _day.Add(rows.ToArray(), offsets.ToArray(), weights.ToArray());
        for (var m = 0; m < Members.Length; m++)
            _sums[m].FadeAndAdd(Math.Pow(0.5, 1 / Members[m].HalfLifeDays), _day);
    }

    /// <summary>Huber's weight, and past three times the threshold one that falls so fast that such readings pull less, the further off they are.</summary>
    private static double Weight(double size) => size <= 1 ? 1 : size <= 3 ? 1 / size : 9 / (size * size * size);

    private readonly record struct Member(double HalfLifeDays, double PullFactor);
}
