using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Weather;

/// <summary>
/// Weather of a spot: its own air or, where that is missing, the air of the other spots of its site or of a weather
/// station; wind and sun of a station; and what a forecast says of the time to come.
/// </summary>
internal sealed class SiteWeather(IReadingStore store, SpotCatalogue catalogue, WeatherStore book)
{
    private static readonly TimeSpan Step = SpotWeather.Step;

    // A shorter gap between readings is bridged by the model itself.
    private static readonly TimeSpan ShortGap = TimeSpan.FromMinutes(90);

    // A station or forecast speaks of another place: it goes on from the last air at the spot, and the difference fades. Our choice.
    private const double DifferenceFadesHours = 6;

    /// <summary>Samples of <c>from ≤ time &lt; to</c> in time order, with the spot's own good surface where there is one; nothing forecast.</summary>
    public async Task<IReadOnlyList<WeatherSample>> LoadAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var (own, lent) = await StepsAsync(spot, from, to, cancellationToken);
        var place = await book.LoadAsync(spot.Site, from, to, cancellationToken);
        return Combine(own, lent, place, from, to.AddTicks(-1), until: null).Samples;
    }

    /// <summary>Samples from a moment up to now, and on as far as a forecast reaches but not further than asked.</summary>
    public async Task<SpotWeather> LoadAheadAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset now, DateTimeOffset until, CancellationToken cancellationToken)
    {
        var (own, lent) = await StepsAsync(spot, from, now.AddTicks(1), cancellationToken);
        var place = await book.LoadAsync(spot.Site, from, until, cancellationToken);
        return Combine(own, lent, place, from, now, until);
    }

    /// <summary>The other spots of a spot's site.</summary>
    public static IEnumerable<Spot> Neighbours(SpotCatalogue catalogue, Spot spot) =>
        spot.Site.Length == 0 ? [] : catalogue.All.Where(s => s.Site == spot.Site && s.Id != spot.Id);

    /// <summary>Puts together a spot's own steps, those its neighbours lend and what stations and forecasts say; the surface is always its own.</summary>
    /// <param name="own">The spot's steps.</param>
    /// <param name="lent">Steps of each neighbour.</param>
    /// <param name="place">Weather of the site.</param>
    /// <param name="from">First moment.</param>
    /// <param name="now">What was observed reaches no further.</param>
    /// <param name="until">How far a forecast may go on; <c>null</c> for not at all.</param>
    public static SpotWeather Combine(
        IReadOnlyList<ReadingStep> own, IReadOnlyList<IReadOnlyList<ReadingStep>> lent, PlaceWeather place,
        DateTimeOffset from, DateTimeOffset now, DateTimeOffset? until)
    {
        var samples = Measured(own, lent);
        if (place.IsEmpty)
            return new SpotWeather(samples, samples.Count > 0 ? samples[^1].At : null, []);
        samples = Bridged(samples, place.Observed, from);
        Continue(samples, place.Observed, from, now);
        var known = samples.Count;
        if (until is { } end)
            Continue(samples, place.Forecast, from, end);
        for (var i = 0; i < samples.Count; i++)
        {
            var at = samples[i].At;
            samples[i] = samples[i] with
            {
                WindMetersPerSecond = Known(place.Observed.Wind, place.Forecast.Wind, at, until),
                SolarWattsPerSquareMeter = Known(place.Observed.Solar, place.Forecast.Solar, at, until),
            };
        }

        return new SpotWeather(
            samples, known > 0 ? samples[known - 1].At : null,
            [.. samples.Skip(known).Select(s => (s.At, place.IssueAt(s.At)))]);
    }

    private async Task<(IReadOnlyList<ReadingStep> Own, List<IReadOnlyList<ReadingStep>> Lent)> StepsAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var own = await store.StepsAsync(spot.Id, from, to, Step, cancellationToken);
        var lent = new List<IReadOnlyList<ReadingStep>>();
        if (own.Count(s => s.AirCelsius is not null) < (to - from) / Step - 1)
        {
            foreach (var other in Neighbours(catalogue, spot))
                lent.Add(await store.StepsAsync(other.Id, from, to, Step, cancellationToken));
        }

        return (own, lent);
    }

    private static List<WeatherSample> Measured(IReadOnlyList<ReadingStep> own, IReadOnlyList<IReadOnlyList<ReadingStep>> lent)
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

    /// <summary>The samples with a station's air where readings were missing for long, also before the first one.</summary>
    private static List<WeatherSample> Bridged(List<WeatherSample> samples, WeatherQuantities station, DateTimeOffset from)
    {
        if (samples.Count == 0 || station.Air.Span is null)
            return samples;
        var bridged = new List<WeatherSample>(samples.Count);
        var last = from - Step;
        foreach (var sample in samples)
        {
            if (sample.At - last > ShortGap)
            {
                for (var end = NextEnd(last); end < sample.At; end += Step)
                {
                    if (station.Air.Between(end) is { } air)
                        bridged.Add(new WeatherSample(end, air) { HumidityPercent = station.Humidity.Between(end) });
                }
            }

            bridged.Add(sample);
            last = sample.At;
        }

        return bridged;
    }

    /// <summary>Goes on from the last sample by what a station or a forecast says.</summary>
    private static void Continue(List<WeatherSample> samples, WeatherQuantities more, DateTimeOffset from, DateTimeOffset until)
    {
        if (more.Air.Span is not { } span || span.Last < from)
            return;
        var last = samples.Count > 0 ? samples[^1] : default(WeatherSample?);
        var there = last is { } l ? more.Air.Between(l.At) : null;
        var difference = last?.AirCelsius - there ?? 0;
        // Where it begins a little later, the air goes there in proportion.
        var join = last is { } && there is null ? more.Air.After(last.Value.At) : null;
        for (var end = NextEnd(last?.At ?? from - Step); end <= until; end += Step)
        {
            var air = join is { } to && end < to.At && last is { } f
                ? f.AirCelsius + (to.Value - f.AirCelsius) * ((end - f.At) / (to.At - f.At))
                : more.Air.Between(end) + difference * Math.Exp(-((end - (last?.At ?? end)).TotalHours / DifferenceFadesHours));
            if (air is not { } known)
                continue;
            samples.Add(new WeatherSample(end, known)
            {
                HumidityPercent = more.Humidity.Between(end) ?? Carried(last, known),
            });
        }
    }

    /// <summary>[%] Humidity when the air holds as much vapour as in a sample.</summary>
    private static double? Carried(WeatherSample? last, double airCelsius) => last is { HumidityPercent: { } humidity } sample
        ? Math.Min(100, humidity * VapourPressure.SaturationKilopascals(sample.AirCelsius) / VapourPressure.SaturationKilopascals(airCelsius))
        : null;

    /// <summary>Observed, or forecast after the last observation.</summary>
    private static double? Known(WeatherSeries observed, WeatherSeries forecast, DateTimeOffset at, DateTimeOffset? until)
    {
        if (observed.Over(at) is { } value)
            return value;
        return until is null || observed.Span is { } span && at <= span.Last ? null : forecast.Over(at);
    }

    private static DateTimeOffset NextEnd(DateTimeOffset after) =>
        new(((after.UtcTicks / Step.Ticks) + 1) * Step.Ticks, TimeSpan.Zero);
}
