using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// What the ground at a spot is estimated to be: by the fit in use or else the handbook, by the inputs at hand for each moment,
/// and with a wider interval where the air is not measured. Whoever shows, judges, warns or backtests an estimate takes it from here.
/// </summary>
public sealed class SpotEstimation
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    private readonly OffsetFit _fit;
    private readonly Spot _spot;
    private readonly SpotWeather _weather;
    private readonly DateTimeOffset _until;
    private readonly IReadOnlyList<NeighbourResidual>? _lent;
    private readonly InputsAtHand _inputs;
    private readonly Dictionary<OffsetInputs, OffsetEstimator> _estimators = [];

    /// <summary>One spot's estimates made ready for many moments on one stretch of weather. For one thread at a time.</summary>
    /// <param name="fit">Its fit; <c>null</c> takes the handbook's offset.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather, see <see cref="Reach"/>; with surface readings where they may be looked at.</param>
    /// <param name="until">Last moment that will be asked for, UTC.</param>
    /// <param name="lent">States of measured spots of the same site; may be <c>null</c>.</param>
    public SpotEstimation(OffsetFit? fit, Spot spot, SpotWeather weather, DateTimeOffset until, IReadOnlyList<NeighbourResidual>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(weather);
        _fit = fit ?? Model.Prior(spot, until);
        (_spot, _weather, _until, _lent) = (spot, weather, until, lent);
        _inputs = new InputsAtHand(_fit, weather.Samples);
    }

    /// <summary>How far back the weather should reach before the first moment: what the lagged sun and the daily range look at.</summary>
    public static TimeSpan Reach { get; } = TimeSpan.FromDays(3);

    /// <summary>Estimates at one moment.</summary>
    /// <param name="moment">The moment, UTC.</param>
    /// <returns>The estimate. NaN temperatures where no air is known at all.</returns>
    public InformedEstimate At(DateTimeOffset moment) => At(moment, DateTimeOffset.MaxValue);

    /// <summary>Estimates at one moment as if no surface had been read after another.</summary>
    /// <param name="moment">The moment, UTC.</param>
    /// <param name="lastSurface">Surface readings later than this are not looked at.</param>
    /// <returns>The estimate. NaN temperatures where no air is known at all.</returns>
    public InformedEstimate At(DateTimeOffset moment, DateTimeOffset lastSurface)
    {
        var inputs = _inputs.At(moment);
        if (!_estimators.TryGetValue(inputs, out var estimator))
            _estimators[inputs] = estimator = new OffsetEstimator(_fit, _spot, _inputs.With(inputs), _until, _lent, _weather.Sun);
        return new InformedEstimate(Widened(estimator.At(moment, lastSurface)), inputs);
    }

    /// <summary>Estimates of one spot.</summary>
    /// <param name="fit">Its fit; <c>null</c> takes the handbook's offset.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather, see <see cref="Reach"/>; with surface readings where they may be looked at.</param>
    /// <param name="at">For which moments, UTC.</param>
    /// <param name="lent">States of measured spots of the same site; may be <c>null</c>.</param>
    /// <returns>One estimate for each moment, in their order. NaN temperatures where no air is known at all.</returns>
    public static IReadOnlyList<InformedEstimate> At(
        OffsetFit? fit, Spot spot, SpotWeather weather, IReadOnlyList<DateTimeOffset> at, IReadOnlyList<NeighbourResidual>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(at);
        if (at.Count == 0)
            return [];
        var ready = new SpotEstimation(fit, spot, weather, at.Max(), lent);
        return [.. at.Select(ready.At)];
    }

    /// <summary>Estimates of the time to come with the sun back: what an all-clear has to outlast.</summary>
    /// <remarks>What was read since the spot began to ease is not looked at: a cloud, a shower or a shadow may have made it.</remarks>
    /// <param name="fit">Its fit; <c>null</c> takes the handbook's offset.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather, see <see cref="Reach"/>.</param>
    /// <param name="at">For which moments, UTC.</param>
    /// <param name="now">From now on the sky has no cloud.</param>
    /// <param name="easedSince">When it began to ease; <c>null</c> where it did not.</param>
    /// <param name="lent">States of measured spots of the same site; may be <c>null</c>.</param>
    /// <returns>One estimate for each moment, in their order. NaN temperatures where no air is known at all.</returns>
    public static IReadOnlyList<SurfaceEstimate> SunBack(
        OffsetFit? fit, Spot spot, SpotWeather weather, IReadOnlyList<DateTimeOffset> at, DateTimeOffset now, DateTimeOffset? easedSince,
        IReadOnlyList<NeighbourResidual>? lent = null)
    {
        ArgumentNullException.ThrowIfNull(weather);
        ArgumentNullException.ThrowIfNull(at);
        if (at.Count == 0)
            return [];
        var until = at.Max();
        var ready = new SpotEstimation(fit, spot, weather.WithClearSky(spot, now, until), until, lent);
        var lastSurface = easedSince is { } since ? since.AddTicks(-1) : now;
        return [.. at.Select(moment => ready.At(moment, lastSurface).Value)];
    }

    /// <summary>How far a measured spot is from what its own fit expects, by the inputs at hand.</summary>
    /// <param name="fit">Its fit.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="weather">Its weather.</param>
    /// <param name="now">UTC.</param>
    /// <returns>The state to lend; <c>null</c> when its surface was not seen.</returns>
    public static NeighbourResidual? StateAt(OffsetFit fit, Spot spot, SpotWeather weather, DateTimeOffset now)
    {
        ArgumentNullException.ThrowIfNull(weather);
        var inputs = new InputsAtHand(fit, weather.Samples);
        return new OffsetEstimator(fit, spot, inputs.With(inputs.At(now)), now, sun: weather.Sun).StateAt(now);
    }

    // Where nothing at all was measured, a forecast alone speaks: as far off as it may be at the end of its day.
    private SurfaceEstimate Widened(SurfaceEstimate estimate) => GuessedAir.Widen(
        estimate,
        _weather.KnownUntil is { } known ? estimate.At - known : TimeSpan.FromDays(1),
        _fit,
        _weather.OriginAt(estimate.At) == AirOrigin.Forecast ? GuessedAir.ForecastFraction : 1);
}
