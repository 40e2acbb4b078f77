using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// What the ground at a spot is estimated to be: by the fit in use or else the handbook, by the inputs at hand for each moment,
/// and with a wider interval where the air is not measured. Whoever shows, judges or warns by an estimate takes it from here.
/// </summary>
public static class SpotEstimation
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    /// <summary>How far back the weather should reach before the first moment: what the lagged sun and the daily range look at.</summary>
    public static TimeSpan Reach { get; } = TimeSpan.FromDays(3);

    /// <summary>Estimates of one spot.</summary>
    /// <param name="fit">Its fit; <c>null</c> takes the handbook's offset.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather, see <see cref="Reach"/>; with surface readings where they may be looked at.</param>
    /// <param name="at">For which moments, UTC.</param>
    /// <param name="lent">States of measured spots of the same site; may be <c>null</c>.</param>
    /// <returns>One estimate for each moment, in their order. NaN temperatures where no air is known at all.</returns>
    public static IReadOnlyList<InformedEstimate> At(
        OffsetFit? fit, Spot spot, SpotWeather weather, IReadOnlyList<DateTimeOffset> at, IReadOnlyList<LentState>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(weather);
        ArgumentNullException.ThrowIfNull(at);
        if (at.Count == 0)
            return [];
        var used = fit ?? Model.Prior(spot, at.Max());
        return [.. InputsAtHand.Estimate(Model, used, spot, weather.Samples, at, lent).Select(e => e with { Value = Widened(e.Value, used, weather) })];
    }

    /// <summary>How far a measured spot is from what its own fit expects, by the inputs at hand.</summary>
    /// <param name="fit">Its fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather.</param>
    /// <param name="now">UTC.</param>
    /// <returns>The state to lend; <c>null</c> when its surface was not seen.</returns>
    public static LentState? StateAt(OffsetFit fit, Spot spot, SpotWeather weather, DateTimeOffset now)
    {
        ArgumentNullException.ThrowIfNull(weather);
        var samples = InputsAtHand.Keep(weather.Samples, InputsAtHand.At(fit, weather.Samples, now));
        return new OffsetEstimator(fit, spot, samples, now).StateAt(now);
    }

    // Where nothing at all was measured, a forecast alone speaks: as far off as it may be at the end of its day.
    private static SurfaceEstimate Widened(SurfaceEstimate estimate, OffsetFit fit, SpotWeather weather) => GuessedAir.Widen(
        estimate,
        weather.KnownUntil is { } known ? estimate.At - known : TimeSpan.FromDays(1),
        fit,
        weather.OriginAt(estimate.At) == AirOrigin.Forecast ? GuessedAir.ForecastFraction : 1);
}
