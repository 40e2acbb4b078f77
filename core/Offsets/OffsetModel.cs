using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>Fits the offset of a spot and estimates its surface from the air.</summary>
/// <remarks>
/// A robust ridge regression on the sun, the hour, and what the air itself says of cloud, drawn towards the handbook
/// prior of the surface kind, with a short memory; on top the last surface reading's residual, which fades.
/// </remarks>
/// <param name="options">How to fit.</param>
public sealed class OffsetModel(OffsetOptions options)
{
    private const int ScoredDays = 10;
    private const int LeastTrainingDays = 3;
    private const double LeastHalfWidthKelvin = 0.3;

    /// <summary>[h] Ages of a last surface reading for which a fit knows how much of its residual is left.</summary>
    public static IReadOnlyList<double> NowcastAges { get; } = [0.5, 1, 2, 3, 6, 12, 24];

    private static readonly double[] PriorPersistence = [0.8, 0.7, 0.55, 0.45, 0.3, 0.15, 0.1];
    private static readonly double[] PriorHalfWidths = [4, 6, 9];
    private static readonly OffsetInputs[] InputSets = [OffsetInputs.All, OffsetInputs.Humidity, OffsetInputs.AirOnly];

    /// <summary>The handbook's offset, for a spot without readings.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="now">When, UTC.</param>
    /// <returns>A fit on no samples.</returns>
    public OffsetFit Prior(Spot spot, DateTimeOffset now) => Fit(spot, [], now);

    /// <summary>Fits the trailing window. With few samples the result leans on the handbook prior; it never fails.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="history">In time order, any spacing; what is later than <paramref name="now"/> is not looked at.</param>
    /// <param name="now">When the fit is made, UTC.</param>
    /// <returns>The fit.</returns>
    public OffsetFit Fit(Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now)
    {
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(history);
        var past = UpTo(history, now);
        var from = now - options.Window;
        var fromIndex = FirstAfter(past, from - TimeSpan.FromDays(1));
        var step = WeatherGrid.StepFor(past, fromIndex);
        var grid = WeatherGrid.Make(spot, past, fromIndex, step, now);
        var offsets = new double[grid.Count];
        double sum = 0;
        var count = 0;
        for (var i = 0; i < grid.Count; i++)
        {
            offsets[i] = grid.EndOf(i) > from ? grid.Surface[i] - grid.Air[i] : double.NaN;
            if (double.IsNaN(offsets[i]))
                continue;
            sum += offsets[i];
            count++;
        }

        var parts = new List<OffsetPart>();
        foreach (var inputs in InputSets)
        {
            var features = OffsetFeatures.Of(grid, spot, inputs);
            var usable = Enumerable.Range(0, grid.Count).Count(i => features[i] is not null && !double.IsNaN(offsets[i]));
            if (inputs == OffsetInputs.AirOnly || usable > 0.8 * count && count > 0)
                parts.Add(FitPart(grid, features, offsets, inputs));
        }

        return new OffsetFit
        {
            Id = string.Create(CultureInfo.InvariantCulture, $"{spot.Id}-{now.UtcDateTime:yyyyMMdd'T'HHmmss'Z'}"),
            SpotName = spot.Id.Value,
            Surface = spot.Surface,
            FittedAt = now.ToUniversalTime(),
            WindowFrom = from.ToUniversalTime(),
            WindowTo = now.ToUniversalTime(),
            SampleCount = count,
            StepMinutes = step,
            Parts = parts,
            MeanOffsetKelvin = count > 0 ? sum / count : 0,
        };
    }

    /// <summary>Surface temperatures with their 90 % intervals.</summary>
    /// <param name="fit">The spot's fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">
    /// In time order: two days or more up to now with surface readings where they are known, then forecast samples if
    /// there are any. Each estimate looks only at what is not later than itself.
    /// </param>
    /// <param name="at">For which moments, in any order; after the end of the weather the air repeats its last day.</param>
    /// <returns>One estimate for each moment, in their order. NaN temperatures where no air is known at all.</returns>
    [SuppressMessage("Performance", "CA1822", Justification = "Callers hold a model; how it estimates may come to need its options.")]
    public IReadOnlyList<SurfaceEstimate> Estimate(
        OffsetFit fit, Spot spot, IReadOnlyList<WeatherSample> weather, IReadOnlyList<DateTimeOffset> at) =>
        new OffsetEstimator(fit, spot, weather, at.Count == 0 ? DateTimeOffset.MinValue : at.Max()).At(at);

    private OffsetPart FitPart(WeatherGrid grid, double[]?[] features, double[] offsets, OffsetInputs inputs)
    {
        var penalties = OffsetFeatures.Penalties(inputs);
        var prior = OffsetFeatures.PriorCoefficients(inputs);
        var perDay = 24 * 60 / grid.StepMinutes;
        var days = (grid.Count + perDay - 1) / perDay;
        var weights = new double[grid.Count];
        Array.Fill(weights, 1);
        var fade = Math.Pow(0.5, 1 / options.HalfLife.TotalDays);

        // Days are counted back from the end, day 0 being the last 24 h.
        int DayOf(int index) => (grid.Count - 1 - index) / perDay;
        NormalEquations[] Sums()
        {
            var sums = new NormalEquations[days];
            for (var d = 0; d < days; d++)
                sums[d] = new NormalEquations(penalties.Length);
            for (var i = 0; i < grid.Count; i++)
            {
                if (features[i] is { } row && !double.IsNaN(offsets[i]))
                    sums[DayOf(i)].Add(row, offsets[i], weights[i]);
            }

            return sums;
        }

        double[] SolveBefore(NormalEquations[] sums, int day)
        {
            var total = new NormalEquations(penalties.Length);
            for (var d = days - 1; d > day; d--)
            {
                total.Fade(fade);
                total.Add(sums[d], 1);
            }

            return total.Solve(penalties, prior);
        }

        var byDay = Sums();
        var coefficients = SolveBefore(byDay, -1);
        for (var step = 0; step < 4; step++)
        {
            Reweigh(grid, features, offsets, coefficients, weights);
            byDay = Sums();
            coefficients = SolveBefore(byDay, -1);
        }

        var errors = new double[grid.Count];
        Array.Fill(errors, double.NaN);
        for (var day = 0; day < Math.Min(ScoredDays, days - LeastTrainingDays); day++)
        {
            var before = SolveBefore(byDay, day);
            for (var i = Math.Max(0, grid.Count - (day + 1) * perDay); i < grid.Count - day * perDay; i++)
            {
                if (features[i] is { } row)
                    errors[i] = offsets[i] - NormalEquations.Dot(row, before);
            }
        }

        return Calibrate(grid, errors, inputs, coefficients);
    }

    private static void Reweigh(
        WeatherGrid grid, double[]?[] features, double[] offsets, double[] coefficients, double[] weights)
    {
        var residuals = new double[grid.Count];
        var sizes = new List<double>[] { [], [], [] };
        for (var i = 0; i < grid.Count; i++)
        {
            residuals[i] = features[i] is { } row ? offsets[i] - NormalEquations.Dot(row, coefficients) : double.NaN;
            if (!double.IsNaN(residuals[i]))
                sizes[SunClass(grid.Elevation[i])].Add(Math.Abs(residuals[i]));
        }

        var scales = Array.ConvertAll(sizes, s => s.Count > 0 ? Math.Max(0.1, Robust.Median([.. s]) / 0.6745) : 1);
        for (var i = 0; i < grid.Count; i++)
        {
            if (!double.IsNaN(residuals[i]))
                weights[i] = Math.Min(1, HuberRegression.Threshold * scales[SunClass(grid.Elevation[i])] / Math.Abs(residuals[i]));
        }
    }

    private static OffsetPart Calibrate(WeatherGrid grid, double[] errors, OffsetInputs inputs, double[] coefficients)
    {
        var classes = new List<double>[] { [], [], [] };
        var all = new List<double>();
        for (var i = 0; i < grid.Count; i++)
        {
            if (double.IsNaN(errors[i]))
                continue;
            classes[SunClass(grid.Elevation[i])].Add(Math.Abs(errors[i]));
            all.Add(Math.Abs(errors[i]));
        }

        var widths = new double[3];
        for (var c = 0; c < 3; c++)
        {
            classes[c].Sort();
            // Few errors say little: they are joined by the prior's width.
            var seen = classes[c].Count > 0 ? Robust.Quantile(classes[c].ToArray(), 0.9) : 0;
            var trust = classes[c].Count / (classes[c].Count + 12.0);
            widths[c] = Math.Max(LeastHalfWidthKelvin, trust * seen + (1 - trust) * PriorHalfWidths[c]);
        }

        var inside = 0;
        for (var i = 0; i < grid.Count; i++)
        {
            if (Math.Abs(errors[i]) <= widths[SunClass(grid.Elevation[i])])
                inside++;
        }

        var (persistence, narrowing) = Fading(grid, errors);
        return new OffsetPart
        {
            Inputs = inputs,
            Coefficients = coefficients,
            HalfWidthsKelvin = widths,
            Persistence = persistence,
            Narrowing = narrowing,
            ResidualScaleKelvin = all.Count > 0 ? Robust.Median([.. all]) / 0.6745 : PriorHalfWidths[1] / 1.645,
            IntervalCoveragePercent = all.Count >= 48 ? 100.0 * inside / all.Count : null,
        };
    }

    /// <summary>How errors some hours apart go together, with a prior worth a day's readings.</summary>
    private static (double[] Persistence, double[] Narrowing) Fading(WeatherGrid grid, double[] errors)
    {
        var persistence = new double[NowcastAges.Count];
        var narrowing = new double[NowcastAges.Count];
        for (var a = 0; a < NowcastAges.Count; a++)
        {
            var lag = Math.Max(1, (int)(NowcastAges[a] * 60 / grid.StepMinutes));
            double cross = 0;
            double square = 0;
            for (var i = lag; i < grid.Count; i++)
            {
                if (double.IsNaN(errors[i]) || double.IsNaN(errors[i - lag]))
                    continue;
                cross += Math.Clamp(errors[i] * errors[i - lag], -16, 16);
                square += Math.Min(errors[i - lag] * errors[i - lag], 16);
            }

            persistence[a] = Math.Clamp((cross + 24 * PriorPersistence[a]) / (square + 24), 0, 1);
            narrowing[a] = Math.Sqrt(1 - 0.95 * persistence[a] * persistence[a]);
        }

        return (persistence, narrowing);
    }

    /// <summary>0 at night, 1 with a low sun, 2 with a high one.</summary>
    internal static int SunClass(double elevationDegrees) => elevationDegrees < 0 ? 0 : elevationDegrees < 30 ? 1 : 2;

    internal static int FirstAfter(IReadOnlyList<WeatherSample> samples, DateTimeOffset moment)
    {
        var low = 0;
        var high = samples.Count;
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (samples[middle].At > moment)
                high = middle;
            else
                low = middle + 1;
        }

        return low;
    }

    private static IReadOnlyList<WeatherSample> UpTo(IReadOnlyList<WeatherSample> samples, DateTimeOffset now)
    {
        var end = FirstAfter(samples, now);
        if (end == samples.Count)
            return samples;
        var kept = new WeatherSample[end];
        for (var i = 0; i < end; i++)
            kept[i] = samples[i];
        return kept;
    }
}
