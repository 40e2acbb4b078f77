using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>What the spots of one site have for each other at one moment: made once for all of them, and only where one needs it.</summary>
/// <remarks>Safe for several threads.</remarks>
/// <param name="watches">The spots.</param>
/// <param name="place">What is known of the site's weather from elsewhere.</param>
/// <param name="ground">Estimates.</param>
/// <param name="now">UTC.</param>
internal sealed class SiteNow(IReadOnlyList<SpotWatch> watches, PlaceWeather place, SpotEstimates ground, DateTimeOffset now)
{
    /// <summary>A spot read within this does not ask its neighbours; one read longer ago has nothing to lend.</summary>
    private static readonly TimeSpan LentReach = TimeSpan.FromHours(1);

    private static readonly TimeSpan SunHolds = TimeSpan.FromMinutes(15);

    private readonly Lazy<SiteAir> _air = new(() => AirOf(watches, now));
    private readonly Lazy<IReadOnlyList<(SpotId Spot, NeighbourResidual State)>> _states = new(() => StatesOf(watches, place, ground, now));

    /// <summary>The moment.</summary>
    public DateTimeOffset Now => now;

    /// <summary>[fraction] Sun as measured in this or the last quarter of an hour, over that of a clear sky; <c>null</c> where nobody measures it, or at night.</summary>
    public double? SunFractionAt(Spot spot)
    {
        var sun = place.Observed.Solar;
        var clear = ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(now, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees);
        return clear > 0 && (sun.Over(now) ?? sun.Over(now - SunHolds)) is { } measured ? measured / clear : null;
    }

    /// <summary>The last days of a spot, with what its neighbours and the place lend, and on as far as a forecast reaches.</summary>
    public SpotWeather WeatherOf(SpotWatch watch, TimeSpan ahead)
    {
        var own = watch.Lent(now).Steps;
        IReadOnlyList<IReadOnlyList<ReadingStep>> lent =
            watches.Count > 1 && SiteAir.IsNeeded(own, SpotEstimation.Reach) ? [_air.Value.LentTo(own)] : [];
        return SiteWeather.Combine(own, lent, place, now - SpotEstimation.Reach, now, now + ahead);
    }

    /// <summary>How far the measured spots of the site are from what their own fits expect: the same cloud is over a dark one. Nothing for a spot that was seen itself.</summary>
    public IReadOnlyList<NeighbourResidual> StatesFor(SpotWatch watch, SpotWeather weather) =>
        watches.Count == 1 || weather.Samples.Any(s => s.At > now - LentReach && s.SurfaceCelsius is not null)
            ? []
            : [.. _states.Value.Where(s => s.Spot != watch.Spot.Id).Select(s => s.State)];

    private static SiteAir AirOf(IReadOnlyList<SpotWatch> watches, DateTimeOffset now)
    {
        var air = new SiteAir(now, SpotEstimation.Reach);
        foreach (var watch in watches)
            watch.AddAirTo(air);
        return air;
    }

    private static List<(SpotId Spot, NeighbourResidual State)> StatesOf(
        IReadOnlyList<SpotWatch> watches, PlaceWeather place, SpotEstimates ground, DateTimeOffset now)
    {
        var states = new List<(SpotId, NeighbourResidual)>();
        foreach (var watch in watches)
        {
            // Its weather is not put together for nothing.
            if (!ground.MayLend(watch.Spot.Id))
                continue;
            var (steps, seenAt) = watch.Lent(now);
            if (seenAt is not { } seen || now - seen > LentReach)
                continue;
            var weather = SiteWeather.Combine(steps, [], place, now - SpotEstimation.Reach, now, now);
            if (ground.StateNow(watch.Spot, weather, now) is { } state)
                states.Add((watch.Spot.Id, state));
        }

        return states;
    }
}
