using PavementWatch.Core.Offsets;
using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Estimates;
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

    private readonly WindAndSun? _windAndSun = place.IsEmpty ? null : new(place, now - SpotEstimation.Reach, now);
    private readonly Lazy<SiteAir> _air = new(() => AirOf(watches, now));
    private readonly Lock _making = new();
    private IReadOnlyList<(SpotId Spot, NeighbourResidual State)>? _states;

    /// <summary>The moment.</summary>
    public DateTimeOffset Now => now;

    /// <summary>[fraction] Sun as measured in this or the last quarter of an hour, over that of a clear sky; <c>null</c> where nobody measures it, or at night.</summary>
    public double? SunFractionAt(Spot spot)
    {
        var sun = place.Observed.Solar;
        var clear = ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(now, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees);
        return clear > 0 && (sun.Over(now) ?? sun.Over(now - SunHolds)) is { } measured ? measured / clear : null;
    }

    /// <summary>When rain fell last, as measured, as far back as it keeps ground wet; <c>null</c> where none did or nobody measures it.</summary>
    public DateTimeOffset? RainedAt { get; } = place.Observed.Rain.LastOfAny(now, now - SpotEvidence.WetLasts);

    /// <summary>The last days of a spot, with what its neighbours and the place lend, and on as far as a forecast reaches.</summary>
    /// <param name="watch">The spot.</param>
    /// <param name="ahead">How far.</param>
    /// <param name="samples">An empty list, which is the weather's from here on.</param>
    public SpotWeather WeatherOf(SpotWatch watch, TimeSpan ahead, List<WeatherSample> samples) =>
        WeatherOf(watch, watches.Count > 1 && watch.LacksAir(now) ? _air.Value : null, ahead, samples);

    /// <summary>How far the measured spots of the site are from what their own fits expect: the same cloud is over a dark one. Nothing for a spot that was seen itself.</summary>
    public IReadOnlyList<NeighbourResidual> StatesFor(SpotWatch watch, SpotWeather weather) =>
        watches.Count == 1 || WasSeen(weather) ? [] : [.. States().Where(s => s.Spot != watch.Spot.Id).Select(s => s.State)];

    private static SiteAir AirOf(IReadOnlyList<SpotWatch> watches, DateTimeOffset now)
    {
        var air = new SiteAir(now, SpotEstimation.Reach);
        foreach (var watch in watches)
            watch.AddAirTo(air);
        return air;
    }

    private SpotWeather WeatherOf(SpotWatch watch, SiteAir? lent, TimeSpan ahead, List<WeatherSample> samples)
    {
        watch.AddWeatherTo(samples, now, lent, _windAndSun);
        return SiteWeather.Complete(samples, place, now - SpotEstimation.Reach, now, now + ahead, isLit: true) with { Sun = watch.Sun };
    }

    private bool WasSeen(SpotWeather weather)
    {
        for (var i = weather.Samples.Count - 1; i >= 0 && weather.Samples[i].At > now - LentReach; i--)
        {
            if (weather.Samples[i].SurfaceCelsius is not null)
                return true;
        }

        return false;
    }

    private IReadOnlyList<(SpotId Spot, NeighbourResidual State)> States()
    {
        lock (_making)
            return _states ??= StatesOf();
    }

    private List<(SpotId Spot, NeighbourResidual State)> StatesOf()
    {
        var (states, samples) = (new List<(SpotId, NeighbourResidual)>(), new List<WeatherSample>());
        foreach (var watch in watches)
        {
            // Its weather is not put together for nothing.
            if (!ground.MayLend(watch.Spot.Id))
                continue;
            if (watch.SeenAt is not { } seen || now - seen > LentReach)
                continue;
            samples.Clear();
            if (ground.StateNow(watch.Spot, WeatherOf(watch, lent: null, TimeSpan.Zero, samples), now) is { } state)
                states.Add((watch.Spot.Id, state));
        }

        return states;
    }
}
