using System.Runtime.InteropServices;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Weather;

/// <summary>Weather of many spots over one span, as <see cref="SiteWeather.LoadAsync"/> has it of one; what the spots of a site share is read once, and only where one needs it.</summary>
/// <remarks>Safe for several threads. What a site's spots share is kept while some few sites are asked for: ask for the spots of one after the other.</remarks>
/// <param name="store">Readings.</param>
/// <param name="catalogue">The spots.</param>
/// <param name="places">Weather from elsewhere.</param>
/// <param name="from">First moment.</param>
/// <param name="to">First moment after.</param>
/// <param name="cancellationToken">Stops.</param>
internal sealed class SpanWeather(
    IReadingStore store, SpotCatalogue catalogue, WeatherStore places, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
{
    // More than are under way at once.
    private const int SitesKept = 16;

    private readonly Dictionary<string, SharedOfSite> _sites = [];
    private readonly Queue<string> _order = [];

    /// <summary>Samples in time order, with the spot's own good surface where there is one; nothing forecast.</summary>
    public async Task<IReadOnlyList<WeatherSample>> LoadAsync(Spot spot)
    {
        var shared = Of(spot.Site);
        var own = await StepsAsync(spot);
        var without = SiteWeather.WithoutAir(own, from, to);
        var lent = new List<ReadingStep>();
        if (without.Count > 0 && SiteWeather.Neighbours(catalogue, spot).Any())
        {
            // At these moments the spot itself has no air, so that the site's is that of the others.
            var air = await shared.Air.Value;
            lent.AddRange(without.Select(air.GetValueOrDefault).OfType<ReadingStep>());
        }

        return SiteWeather.Combine(own, [lent], await shared.Place.Value, from, to.AddTicks(-1), until: null).Samples;
    }

    private SharedOfSite Of(string site)
    {
        lock (_sites)
        {
            if (_sites.TryGetValue(site, out var shared))
                return shared;
            if (_order.Count == SitesKept)
                _sites.Remove(_order.Dequeue());
            _order.Enqueue(site);
            return _sites[site] = new SharedOfSite(
                new(() => places.LoadAsync(site, from, to, cancellationToken)), new(() => AirAsync(site)));
        }
    }

    private Task<IReadOnlyList<ReadingStep>> StepsAsync(Spot spot) =>
        store.StepsAsync(spot.Id, from, to, SpotWeather.Step, cancellationToken);

    /// <summary>Means over the spots of a site that have air, by the ends of their steps.</summary>
    private async Task<IReadOnlyDictionary<DateTimeOffset, ReadingStep>> AirAsync(string site)
    {
        var sums = new Dictionary<DateTimeOffset, Sums>();
        foreach (var spot in catalogue.All.Where(s => s.Site == site))
        {
            foreach (var step in await StepsAsync(spot))
                CollectionsMarshal.GetValueRefOrAddDefault(sums, step.End, out _).Add(step);
        }

        return sums.Where(s => s.Value.Air.Count > 0).ToDictionary(s => s.Key, s => new ReadingStep(s.Key, 1, 1)
        {
            AirCelsius = s.Value.Air.Value,
            HumidityPercent = s.Value.Humidity.Value,
        });
    }

    private sealed record SharedOfSite(Lazy<Task<PlaceWeather>> Place, Lazy<Task<IReadOnlyDictionary<DateTimeOffset, ReadingStep>>> Air);

    private struct Sums
    {
        public RunningMean Air;
        public RunningMean Humidity;

        public void Add(ReadingStep step)
        {
            Air.Add(step.AirCelsius);
            Humidity.Add(step.HumidityPercent);
        }
    }
}
