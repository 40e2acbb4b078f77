using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>Weather of a spot from the store: its own air or, where that is missing, the air of the other spots of its site.</summary>
internal sealed class SiteWeather(IReadingStore store, SpotCatalogue catalogue)
{
    /// <summary>Spacing of the samples.</summary>
    public static readonly TimeSpan Step = TimeSpan.FromMinutes(10);

    /// <summary>Samples of <c>from ≤ time &lt; to</c> in time order, with the spot's own good surface where there is one.</summary>
    public async Task<IReadOnlyList<WeatherSample>> LoadAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var own = await store.StepsAsync(spot.Id, from, to, Step, cancellationToken);
        var lent = new List<IReadOnlyList<ReadingStep>>();
        if (own.Count(s => s.AirCelsius is not null) < (to - from) / Step - 1)
        {
            foreach (var other in Neighbours(catalogue, spot))
                lent.Add(await store.StepsAsync(other.Id, from, to, Step, cancellationToken));
        }

        return Combine(own, lent);
    }

    /// <summary>The other spots of a spot's site.</summary>
    public static IEnumerable<Spot> Neighbours(SpotCatalogue catalogue, Spot spot) =>
        spot.Site.Length == 0 ? [] : catalogue.All.Where(s => s.Site == spot.Site && s.Id != spot.Id);

    /// <summary>Puts a spot's own steps and those its neighbours lend together; the surface is always its own.</summary>
    public static IReadOnlyList<WeatherSample> Combine(
        IReadOnlyList<ReadingStep> own, IReadOnlyList<IReadOnlyList<ReadingStep>> lent)
    {
        var ends = own.Concat(lent.SelectMany(s => s)).GroupBy(s => s.End).OrderBy(g => g.Key);
        var mine = own.ToDictionary(s => s.End);
        var samples = new List<WeatherSample>();
        foreach (var step in ends)
        {
            var ownStep = mine.GetValueOrDefault(step.Key);
            var others = step.Where(s => !ReferenceEquals(s, ownStep)).ToList();
            if ((ownStep?.AirCelsius ?? others.Average(s => s.AirCelsius)) is not { } air)
                continue;
            samples.Add(new WeatherSample(step.Key, air)
            {
                HumidityPercent = ownStep?.HumidityPercent ?? others.Average(s => s.HumidityPercent),
                SurfaceCelsius = ownStep?.SurfaceCelsius,
            });
        }

        return samples;
    }
}
