using System.Text.Json.Serialization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>The offset of one spot as fitted on one window. Immutable; written as JSON and read back it is the same.</summary>
public sealed record OffsetFit
{
    /// <summary>How many entries <see cref="Seen"/> has where it is known: night, a low sun, a high one.</summary>
    public const int SeenCount = SunHeight.Classes;

    /// <summary>Its name: spot and time of fitting, e.g. <c>mill-footbridge-20300714T050000Z</c>.</summary>
    public required string Id { get; init; }

    /// <summary>The spot it was made for.</summary>
    public required string SpotName { get; init; }

    /// <summary>The spot it was made for.</summary>
    [JsonIgnore]
    public SpotId Spot => SpotId.Parse(SpotName);

    /// <summary>What the ground was said to be made of.</summary>
    public required SurfaceKind Surface { get; init; }

    /// <summary>Which set of features the coefficients belong to. A fit of another edition estimates from the handbook.</summary>
    public int Edition { get; init; }

    /// <summary>Whether what it learnt is used; else the handbook speaks in its place.</summary>
    [JsonIgnore]
    public bool IsInForce => Edition == OffsetFeatures.Edition;

    /// <summary>When it was made, UTC; it used nothing later.</summary>
    public required DateTimeOffset FittedAt { get; init; }

    /// <summary>First moment of the window, UTC.</summary>
    public required DateTimeOffset WindowFrom { get; init; }

    /// <summary>End of the window, UTC.</summary>
    public required DateTimeOffset WindowTo { get; init; }

    /// <summary>How many steps with air and surface it rests on; 0 is the handbook prior alone.</summary>
    public required int SampleCount { get; init; }

    /// <summary>End of the first step it rests on, UTC; <c>null</c> without samples, or where an earlier version of the program made it.</summary>
    public DateTimeOffset? FirstSampleAt { get; init; }

    /// <summary>End of the last step it rests on, UTC; <c>null</c> likewise.</summary>
    public DateTimeOffset? LastSampleAt { get; init; }

    /// <summary>[min] Length of a step.</summary>
    public required int StepMinutes { get; init; }

    /// <summary>One set of parameters for each set of inputs the window had, the richest first; the last needs the air alone.</summary>
    public required IReadOnlyList<OffsetPart> Parts { get; init; }

    /// <summary>Where the lagged sun, air and humidity stood at some moments of the last days, in time order.</summary>
    public IReadOnlyList<LagState> Lags { get; init; } = [];

    /// <summary>[K] Mean of surface minus air in the window; 0 without samples.</summary>
    public required double MeanOffsetKelvin { get; init; }

    /// <summary>[°C] Coldest and hottest air beside a surface reading in the window; <c>null</c> without samples.</summary>
    public AirRange? SeenAir { get; init; }

    /// <summary>
    /// What weather there was beside a surface reading in the window, by night, under a low and under a high sun; <c>null</c> without samples,
    /// or where an earlier version of the program made it.
    /// </summary>
    public IReadOnlyList<SeenWeather>? Seen { get; init; }

    /// <summary>[K] How much the air of the window's last fortnight changed from day to day, see <see cref="GuessedAir"/>; <c>null</c> where an earlier version of the program made it.</summary>
    public double? DailyAirChangeKelvin { get; init; }

    /// <summary>[K] Robust spread of the errors the fit's own method made on the window's last days, each predicted from the days before.</summary>
    public double ResidualScaleKelvin => Parts[0].ResidualScaleKelvin;

    /// <summary>[%] Share of the window's readings that lay inside the 90 % interval given before; <c>null</c> when there were too few days to tell.</summary>
    public double? IntervalCoveragePercent => Parts[0].IntervalCoveragePercent;

    /// <summary>How often its interval held on the last days, see <see cref="OffsetPart.Record"/>; <c>null</c> also for a fit of another edition, by which nothing is estimated.</summary>
    [JsonIgnore]
    public IntervalRecord? Record => IsInForce ? Parts[0].Record : null;
}

/// <summary>A span of air temperatures.</summary>
/// <param name="LeastCelsius">[°C] Coldest.</param>
/// <param name="MostCelsius">[°C] Hottest.</param>
public sealed record AirRange(double LeastCelsius, double MostCelsius);

/// <summary>Parameters of an offset for one set of inputs.</summary>
public sealed record OffsetPart
{
    /// <summary>What it looks at besides the air's temperature.</summary>
    public required OffsetInputs Inputs { get; init; }

    /// <summary>[K per unit of the feature] Coefficients, in the order of <see cref="OffsetFeatures.Of"/>.</summary>
    public required IReadOnlyList<double> Coefficients { get; init; }

    /// <summary>[K] One standard deviation of the errors to be expected, for the middle of each hour of true solar time.</summary>
    public required IReadOnlyList<double> SigmaKelvin { get; init; }

    /// <summary>
    /// [standard deviations] Half-width of the 90 % interval with a last surface reading of each of
    /// <see cref="OffsetModel.NowcastAges"/>, then for one that is older than all of them.
    /// </summary>
    public required IReadOnlyList<double> Quantiles { get; init; }

    /// <summary>[fraction] Of a residual, in standard deviations of its hour, left after <see cref="OffsetModel.NowcastAges"/>.</summary>
    public required IReadOnlyList<double> Persistence { get; init; }

    /// <summary>[K] Robust spread of the errors on the window's last days, each predicted from the days before.</summary>
    public required double ResidualScaleKelvin { get; init; }

    /// <summary>How far warnings of the time ahead lean to the warm side on the hottest hours; <c>null</c> when they do not.</summary>
    public HotHourCorrection? Lean { get; init; }

    /// <summary>How much further out the ends of the interval lie on hot and sunny hours; <c>null</c> in the first week, or where an earlier version of the program made it.</summary>
    public IntervalEnds? Ends { get; init; }

    /// <summary>How often the interval held on the last days; <c>null</c> in the first week, or where an earlier version of the program made it.</summary>
    public IntervalRecord? Record { get; init; }

    /// <summary>[%] Share of the window's readings inside the 90 % interval given before, or <c>null</c>.</summary>
    public required double? IntervalCoveragePercent { get; init; }
}
