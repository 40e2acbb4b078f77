using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>Fits the offset of a spot and estimates its surface from the air.</summary>
/// <remarks>
/// Robust ridge regressions on the sun, the hour, and what the air itself says of cloud, drawn towards the handbook
/// prior of the surface kind; see <see cref="OffsetFeatures"/>, <see cref="OffsetReplay"/> and
/// <see cref="ReplayErrors"/>. On top, the last surface reading's residual, which fades.
/// </remarks>
/// <param name="options">How to fit.</param>
public sealed class OffsetModel(OffsetOptions options)
{
    private const double NeededFraction = 0.6;
    private const int KeptLagDays = 9;

    /// <summary>[h] Ages of a last surface reading for which a fit knows how much of its residual is left.</summary>
    public static IReadOnlyList<double> NowcastAges { get; } = [0.5, 1, 2, 3, 6, 12, 24];

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
        var from = now - options.Window;
        var past = new WeatherStretch(history, WeatherSample.FirstAfter(history, from - TimeSpan.FromDays(1)), WeatherSample.FirstAfter(history, now));
        var step = WeatherGrid.StepFor(past);
        var grid = WeatherGrid.Make(spot, past, step, now, withDoubted: true);
        var sky = new SkyAndAir(grid, spot.Surface, null);
        var offsets = new double[grid.Count];
        for (var i = 0; i < grid.Count; i++)
            offsets[i] = grid.EndOf(i) > from ? grid.Surface[i] - grid.Air[i] : double.NaN;
        var known = Enumerable.Range(0, grid.Count).Where(i => !double.IsNaN(offsets[i])).ToList();

        return new OffsetFit
        {
            Id = string.Create(CultureInfo.InvariantCulture, $"{spot.Id}-{now.UtcDateTime:yyyyMMdd'T'HHmmss'Z'}"),
            SpotName = spot.Id.Value,
            Surface = spot.Surface,
            Edition = OffsetFeatures.Edition,
            FittedAt = now.ToUniversalTime(),
            WindowFrom = from.ToUniversalTime(),
            WindowTo = now.ToUniversalTime(),
            SampleCount = known.Count,
            FirstSampleAt = known.Count > 0 ? grid.EndOf(known[0]) : null,
            LastSampleAt = known.Count > 0 ? grid.EndOf(known[^1]) : null,
            StepMinutes = step,
            Parts = [.. InputSets(grid, known).Select(inputs => FitPart(sky, offsets, spot.Surface, inputs))],
            Lags = past.Count > 0 ? LastLags(sky) : [],
            MeanOffsetKelvin = known.Count > 0 ? known.Average(i => offsets[i]) : 0,
            SeenAir = known.Count > 0 ? new AirRange(known.Min(i => grid.Air[i]), known.Max(i => grid.Air[i])) : null,
            Seen = SeenWeather.Of(grid, known),
            DailyAirChangeKelvin = GuessedAir.DailyChangeKelvin(grid),
        };
    }

    /// <summary>Surface temperatures with their 90 % intervals.</summary>
    /// <param name="fit">The spot's fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">
    /// In time order: two days or more up to now with surface readings where they are known, then forecast samples if
    /// there are any. Each estimate looks only at what is not later than the end of its own step.
    /// </param>
    /// <param name="at">For which moments, in any order; after the end of the weather the air repeats its last day.</param>
    /// <param name="lent">States of measured spots of the same site, see <see cref="OffsetEstimator.StateAt"/>; may be <c>null</c>.</param>
    /// <returns>One estimate for each moment, in their order. NaN temperatures where no air is known at all.</returns>
    [SuppressMessage("Performance", "CA1822", Justification = "Callers hold a model; how it estimates may come to need its options.")]
    public IReadOnlyList<SurfaceEstimate> Estimate(
        OffsetFit fit, Spot spot, IReadOnlyList<WeatherSample> weather, IReadOnlyList<DateTimeOffset> at,
        IReadOnlyList<NeighbourResidual>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(at);
        return at.Count == 0 ? [] : new OffsetEstimator(fit, spot, weather, at.Max(), lent).At(at);
    }

    /// <summary>The richest set of inputs that most readings have, the same without wind and sun, and the air alone.</summary>
    private static List<OffsetInputs> InputSets(WeatherGrid grid, List<int> known)
    {
        var sets = new List<OffsetInputs>();
        var all = OffsetInputs.AirOnly;
        foreach (var (input, column) in new[]
        {
            (OffsetInputs.Humidity, grid.Vapour), (OffsetInputs.Wind, grid.Wind), (OffsetInputs.Solar, grid.Solar),
        })
        {
            if (known.Count > 0 && known.Count(i => !double.IsNaN(column[i])) > NeededFraction * known.Count)
                all |= input;
        }

        // A spot without readings takes what there is: the handbook knows what wind and measured sun do.
        sets.Add(known.Count > 0 ? all : OffsetInputs.Wind | OffsetInputs.Solar);
        if (known.Count == 0)
            sets.Add(OffsetInputs.Solar);
        sets.Add(all & OffsetInputs.Humidity);
        sets.Add(OffsetInputs.AirOnly);
        return [.. sets.Distinct()];
    }

    private static OffsetPart FitPart(SkyAndAir sky, double[] offsets, SurfaceKind surface, OffsetInputs inputs)
    {
        var replay = new OffsetReplay(sky.Grid, OffsetFeatures.Rows(sky, surface, inputs), offsets, inputs);
        var ground = HandbookPrior.Of(surface);
        var calibration = new ReplayErrors(
            sky.Grid, replay.Errors, new ErrorScale(ground.NightErrorKelvin, ground.NoonErrorKelvin));
        return new OffsetPart
        {
            Inputs = inputs,
            Coefficients = replay.Coefficients,
            SigmaKelvin = calibration.SigmaKelvin,
            Quantiles = calibration.Quantiles,
            Persistence = calibration.Persistence,
            ResidualScaleKelvin = Spread(sky.Grid, replay.Errors, ground),
            IntervalCoveragePercent = calibration.CoveragePercent,
            Lean = HotHourCorrection.Of(sky.Grid, replay.Errors, calibration.SigmaKelvin),
            Ends = calibration.Ends,
            Record = calibration.Record,
        };
    }

    private static double Spread(WeatherGrid grid, double[] errors, HandbookPrior.Ground ground)
    {
        var last = errors.TakeLast(grid.StepsIn(24 * 14)).Where(double.IsFinite).Select(Math.Abs).ToArray();
        return last.Length > 0 ? Robust.Median(last) / 0.6745 : ground.NightErrorKelvin;
    }

    private static List<LagState> LastLags(SkyAndAir sky)
    {
        var lags = new List<LagState>();
        var step = sky.Grid.StepsIn(12);
        for (var i = sky.Grid.Count - 1 - 2 * KeptLagDays * step; i < sky.Grid.Count; i += step)
        {
            if (i >= 0)
                lags.Add(sky.StateAt(i));
        }

        return lags;
    }
}
