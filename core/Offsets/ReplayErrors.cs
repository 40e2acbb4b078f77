using PavementWatch.Core.Statistics;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// What a replay's errors say of the errors to come: how large at each hour, how wide the 90 % interval must be, how
/// long a residual lasts. Each day is judged by what was known before it.
/// </summary>
/// <remarks>
/// The interval is conformal: the share of past errors, each over its hour's size, that lay inside (Lei et al.,
/// Distribution-free predictive inference for regression, J. Am. Stat. Assoc. 113 (2018) 1094–1111), on the last days.
/// Where those intervals then held too often or too seldom, the share asked for gives way (Gibbs and Candès, Adaptive
/// conformal inference under distribution shift, NeurIPS 34 (2021) 1660–1672), a day at a time. On hot and sunny hours an
/// error counts by how much further out its end lies there, see <see cref="IntervalEnds"/>.
/// </remarks>
internal sealed class ReplayErrors
{
    private const int JudgedDays = 16;
    private const int RecordedDays = 30;
    private const int SparseEvery = 4;
    private const double CoveredFraction = 0.905;
    private const double LeastLevel = 0.8;
    private const double MostLevel = 0.97;
    private const double LevelGainPerDay = 0.05;
    private const int LeastJudgedDays = 3;
    private const int LeastRecordedDays = 3;
    private const int Halvings = 14;
    private const double PriorQuantile = 1.9;
    private const double PriorDays = 2;
    private const double PersistencePrior = 20;
    private const double PersistenceFadePerDay = 0.95;

    private readonly WeatherGrid _grid;
    private readonly double[] _errors;
    private readonly double[] _scaled;
    private readonly int[] _lags;
    private readonly double[] _crosses;
    private readonly double[] _squares;
    private readonly double[] _persistence;
    private readonly double[] _levels;

    // Sizes of each day's errors in standard deviations, in ascending order, by age.
    private readonly Queue<double[]>[] _judged;
    private readonly List<Told> _told = [];
    private int _inside;
    private int _seen;

    public ReplayErrors(WeatherGrid grid, double[] errors, ErrorScale scale)
    {
        _grid = grid;
        _errors = errors;
        _scaled = new double[grid.Count];
        var ages = OffsetModel.NowcastAges;
        _lags = [.. ages.Select(a => grid.StepsIn(a))];
        _crosses = [.. ages.Select(a => PersistencePrior * PriorPersistence(a))];
        _squares = [.. ages.Select(_ => PersistencePrior)];
        _persistence = [.. ages.Select(PriorPersistence)];
        // The last one judges the sensor that has been dark for longer than any age.
        _judged = [.. Enumerable.Range(0, ages.Count + 1).Select(_ => new Queue<double[]>())];
        _levels = [.. _judged.Select(_ => CoveredFraction)];
        Run(scale);
        SigmaKelvin = scale.SigmaKelvin;
        Record = Remember();
        // An older reading never tells more than a younger one.
        var widest = 0.0;
        Quantiles = [.. Enumerable.Range(0, ages.Count + 1).Select(age => widest = Math.Max(widest, Quantile(age)))];
    }

    /// <summary>[K] One standard deviation of the errors at each solar hour.</summary>
    public IReadOnlyList<double> SigmaKelvin { get; }

    /// <summary>[fraction] Of a residual, in its hour's standard deviations, left after each of the ages.</summary>
    public IReadOnlyList<double> Persistence => _persistence;

    /// <summary>[standard deviations] Half-width of the 90 % interval after each of the ages, then for a dark sensor.</summary>
    public IReadOnlyList<double> Quantiles { get; }

    /// <summary>[%] Of the judged days' readings, how many lay inside the interval that was given before; <c>null</c> for less than three days.</summary>
    public double? CoveragePercent { get; private set; }

    /// <summary>How much further out the ends lie on hot and sunny hours; <c>null</c> in the first week.</summary>
    public IntervalEnds? Ends { get; private set; }

    /// <summary>How often the intervals held on the last days; <c>null</c> for less than three days.</summary>
    public IntervalRecord? Record { get; }

    private static double PriorPersistence(double ageHours) => Math.Exp(-ageHours / 4);

    private void Run(ErrorScale scale)
    {
        var perDay = _grid.StepsIn(24);
        var days = (_grid.Count + perDay - 1) / perDay;
        for (var day = days - 1; day >= 0; day--)
        {
            var from = Math.Max(0, _grid.Count - (day + 1) * perDay);
            var to = _grid.Count - day * perDay;
            Judge(scale, from, to, day < RecordedDays);
            scale.Learn(_grid, _errors, from, to);
            // Long past days need no ends of their own each.
            if (day <= RecordedDays || day % SparseEvery == 0)
                Ends = IntervalEnds.Of(_grid, _errors, _scaled, to, Quantile(_lags.Length));
        }

        CoveragePercent = _seen >= 2 * perDay ? 100.0 * _inside / _seen : null;
    }

    private void Judge(ErrorScale scale, int from, int to, bool isRecorded)
    {
        var given = _judged[^1].Count >= LeastJudgedDays ? Quantile(_lags.Length) : double.NaN;
        var sizes = new List<double>[_lags.Length + 1];
        for (var a = 0; a < sizes.Length; a++)
            sizes[a] = [];
        for (var i = from; i < to; i++)
        {
            _scaled[i] = Math.Clamp(_errors[i] / scale.At(_grid.SolarHour[i]), -ErrorScale.WildestSigmas, ErrorScale.WildestSigmas);
            if (double.IsNaN(_scaled[i]))
                continue;
            var expected = _grid.Surface[i] - _errors[i];
            var heat = Ends?.HeatAt(expected, _grid.Clear[i]) ?? 0;
            var size = Size(_scaled[i], heat);
            sizes[^1].Add(size);
            if (isRecorded && !double.IsNaN(given))
                _told.Add(new Told(from, expected, size <= given, size > given && _scaled[i] > 0));
            for (var a = 0; a < _lags.Length; a++)
            {
                var before = i - _lags[a] < 0 ? double.NaN : _scaled[i - _lags[a]];
                if (!double.IsNaN(before))
                    sizes[a].Add(Size(_scaled[i] - _persistence[a] * before, heat));
            }
        }

        for (var a = 0; a < _lags.Length; a++)
            Follow(a, from, to);
        if (sizes[^1].Count == 0)
            return;
        for (var a = 0; a < sizes.Length; a++)
        {
            var day = sizes[a].ToArray();
            Array.Sort(day);
            if (_judged[a].Count >= LeastJudgedDays && day.Length > 0)
                Hold(a, day);
            _judged[a].Enqueue(day);
            if (_judged[a].Count > JudgedDays)
                _judged[a].Dequeue();
        }
    }

    /// <summary>[standard deviations] An error as it would be on an hour that is not hot.</summary>
    private double Size(double error, double heat) =>
        Ends is null ? Math.Abs(error) : error > 0 ? error / Ends.Upper(heat) : -error / Ends.Lower(heat);

    private IntervalRecord? Remember()
    {
        if (_told.Count < LeastRecordedDays * _grid.StepsIn(24))
            return null;
        var hottest = _told.OrderByDescending(t => t.ExpectedCelsius).Take((_told.Count + 9) / 10).ToList();
        return new IntervalRecord(
            _told.Select(t => t.Day).Distinct().Count(), _told.Count, _told.Count(t => t.Inside),
            hottest.Count, hottest.Count(t => t.Inside), hottest.Count(t => t.Above));
    }

    /// <summary>Looks how often the interval given before the day held on it, and asks for more or less from then on.</summary>
    private void Hold(int age, double[] day)
    {
        var inside = Ascending.CountUpTo(day, Quantile(age), static (size, bound) => size > bound);
        _levels[age] = Math.Clamp(
            _levels[age] + LevelGainPerDay * (CoveredFraction - (double)inside / day.Length), LeastLevel, MostLevel);
        if (age < _lags.Length)
            return;
        _seen += day.Length;
        _inside += inside;
    }

    /// <summary>Learns from a day how errors some hours apart go together.</summary>
    private void Follow(int age, int from, int to)
    {
        _crosses[age] *= PersistenceFadePerDay;
        _squares[age] *= PersistenceFadePerDay;
        for (var i = Math.Max(from, _lags[age]); i < to; i++)
        {
            var (now, before) = (_scaled[i], _scaled[i - _lags[age]]);
            if (double.IsNaN(now) || double.IsNaN(before))
                continue;
            _crosses[age] += now * before;
            _squares[age] += before * before;
        }

        _persistence[age] = Math.Clamp(_crosses[age] / _squares[age], 0, 1);
    }

    private double Quantile(int age)
    {
        var prior = age < _lags.Length ? PriorQuantile * Math.Sqrt(1 - 0.9 * Math.Pow(PriorPersistence(OffsetModel.NowcastAges[age]), 2)) : PriorQuantile;
        var days = _judged[age];
        var wanted = _levels[age] * days.Sum(d => d.Length);
        if (wanted == 0)
            return prior;
        // Halving between nothing and the wildest finds the value below which the wanted number lies.
        var (low, high) = (0.0, 2 * ErrorScale.WildestSigmas);
        for (var i = 0; i < Halvings; i++)
        {
            var middle = (low + high) / 2;
            if (days.Sum(d => Ascending.CountUpTo(d, middle, static (size, bound) => size > bound)) >= wanted)
                high = middle;
            else
                low = middle;
        }

        return (days.Count * high + PriorDays * prior) / (days.Count + PriorDays);
    }

    /// <summary>What became of an interval.</summary>
    private readonly record struct Told(int Day, double ExpectedCelsius, bool Inside, bool Above);
}
