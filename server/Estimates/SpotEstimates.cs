using System.Collections.Concurrent;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Estimates;

/// <summary>The ground at a spot as <see cref="SpotEstimation"/> has it, with the fits and the weather that are kept here.</summary>
internal sealed class SpotEstimates(SiteWeather weather, FitStore fits)
{
    // Fits are made nightly; after some nights without a better one what it said of its last days is old.
    private static readonly TimeSpan RecordFresh = TimeSpan.FromDays(4);

    // Before, the handbook says more than the spot does, and it knows no house that shades it. Our choice.
    private static readonly TimeSpan LearntFor = TimeSpan.FromDays(3);

    // The handbook's offset of each kind of ground: half of a tick's time where it is made anew for each spot without a fit.
    private readonly ConcurrentDictionary<SurfaceKind, OffsetFit> _handbook = [];

    /// <summary>Weather for estimates of some moments: as far back as they need it, and on by a forecast where they lie ahead.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="first">The first moment.</param>
    /// <param name="last">The last one.</param>
    /// <param name="now">Nothing measured is later.</param>
    /// <param name="cancellationToken">Stops.</param>
    public async Task<SpotWeather> WeatherAsync(
        Spot spot, DateTimeOffset first, DateTimeOffset last, DateTimeOffset now, CancellationToken cancellationToken) => last <= now
            ? SpotWeather.Past(await weather.LoadAsync(spot, first - SpotEstimation.Reach, last.AddTicks(1), cancellationToken))
            : await weather.LoadAheadAsync(spot, first - SpotEstimation.Reach, now, last, cancellationToken);

    /// <summary>Weather for estimates of several spans of a time that is over; see <see cref="WeatherAsync"/>.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="spans">First and last moment of each, in time order.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>The weather of each, in their order.</returns>
    public async Task<IReadOnlyList<SpotWeather>> PastAsync(
        Spot spot, IReadOnlyList<(DateTimeOffset First, DateTimeOffset Last)> spans, CancellationToken cancellationToken) =>
        [.. (await weather.LoadSpansAsync(spot, [.. spans.Select(s => (s.First - SpotEstimation.Reach, s.Last.AddTicks(1)))], cancellationToken)).Select(SpotWeather.Past)];

    /// <summary>Since when a spot has its present ground, where it was changed: what was measured before says nothing of it.</summary>
    public Task<DateTimeOffset?> GroundSinceAsync(SpotId spot, CancellationToken cancellationToken) => fits.GroundSinceAsync(spot, cancellationToken);

    /// <summary>The fit that is in use; <c>null</c> for the handbook's offset.</summary>
    public string? FitInUse(SpotId spot) => fits.InUse(spot)?.Id;

    /// <summary>By the fit that was in use at a time.</summary>
    public async Task<IReadOnlyList<InformedEstimate>> AsOfAsync(
        DateTimeOffset time, Spot spot, SpotWeather known, IReadOnlyList<DateTimeOffset> at, CancellationToken cancellationToken) =>
        SpotEstimation.At(await fits.AtAsync(spot.Id, time, cancellationToken), spot, known, at);

    /// <summary>By the fit that is in use, ready for any moment up to a last one.</summary>
    public SpotEstimation Now(Spot spot, SpotWeather known, DateTimeOffset until, IReadOnlyList<NeighbourResidual> lent) =>
        new(fits.InUse(spot.Id) ?? Handbook(spot), spot, known, until, lent);

    /// <summary>Whether the fit in use has learnt enough of a spot for a sensor to be held against it.</summary>
    public bool HasLearnt(SpotId spot) => fits.InUse(spot) is { IsInForce: true, FirstSampleAt: { } first, LastSampleAt: { } last } && last - first >= LearntFor;

    /// <summary>By the fit that is in use, see <see cref="SpotEstimation.SunBack"/>.</summary>
    public IReadOnlyList<SurfaceEstimate> SunBack(
        Spot spot, SpotWeather known, IReadOnlyList<DateTimeOffset> at, DateTimeOffset now, DateTimeOffset? easedSince, IReadOnlyList<NeighbourResidual> lent) =>
        SpotEstimation.SunBack(fits.InUse(spot.Id) ?? Handbook(spot), spot, known, at, now, easedSince, lent);

    /// <summary>How often estimates by the fit in use held on its last days; <c>null</c> where it does not say, or is not of the last days itself.</summary>
    public IntervalRecord? RecordOf(SpotId spot, DateTimeOffset now) =>
        fits.InUse(spot) is { Record: { } record } fit && now - fit.FittedAt < RecordFresh ? record : null;

    /// <summary>Whether a spot has learned what it could lend.</summary>
    public bool MayLend(SpotId spot) => fits.InUse(spot) is { SampleCount: > 0 };

    /// <summary>What a measured spot lends to a dark one of its site; <c>null</c> where it has learned nothing or is not seen.</summary>
    public NeighbourResidual? StateNow(Spot spot, SpotWeather known, DateTimeOffset now) =>
        fits.InUse(spot.Id) is { SampleCount: > 0 } fit ? SpotEstimation.StateAt(fit, spot, known, now) : null;

    /// <summary>What a spot's surface should have been, as if its sensor had not been there.</summary>
    /// <param name="fit">By which fit; <c>null</c> takes the handbook's offset.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="known">Its weather; its surface is not looked at.</param>
    /// <param name="at">For which moments.</param>
    public static IReadOnlyList<SurfaceEstimate> Unseen(OffsetFit? fit, Spot spot, SpotWeather known, IReadOnlyList<DateTimeOffset> at) =>
        [.. SpotEstimation.At(fit, spot, known.Dark, at).Select(e => e.Value)];

    private OffsetFit Handbook(Spot spot) =>
        _handbook.GetOrAdd(spot.Surface, static (_, of) => new OffsetModel(new OffsetOptions()).Prior(of, DateTimeOffset.UnixEpoch), spot) with { SpotName = spot.Id.Value };
}
