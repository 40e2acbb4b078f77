using System.Runtime.InteropServices;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Weather;

/// <summary>
/// Weather of a spot: its own air or, where that is missing, the air of the other spots of its site or of a weather
/// station; wind and sun of a station; and what a forecast says of the time to come.
/// </summary>
internal sealed class SiteWeather(IReadingStore store, SpotCatalogue catalogue, WeatherStore places)
{
    private static readonly TimeSpan Step = SpotWeather.Step;

    // A question costs about as much as some weeks of steps.
    private static readonly TimeSpan ReadTogether = TimeSpan.FromDays(14);

    // A shorter gap between readings is bridged by the model itself.
    private static readonly TimeSpan ShortGap = TimeSpan.FromMinutes(90);

    // A station or forecast speaks of another place: it goes on from the last air at the spot, and the difference fades. Our choice.
    private const double DifferenceFadesHours = 6;

    /// <summary>Samples of <c>from ≤ time &lt; to</c> in time order, with the spot's own good surface where there is one; nothing forecast.</summary>
    public async Task<IReadOnlyList<WeatherSample>> LoadAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var (own, lent) = await StepsAsync(spot, from, to, cancellationToken);
        var place = await places.LoadAsync(spot.Site, from, to, cancellationToken);
        return Combine(own, lent, place, from, to.AddTicks(-1), until: null).Samples;
    }

    /// <summary>As <see cref="LoadAsync"/>, for some spans of one spot; those near each other are read together.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="spans">In time order.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>The samples of each, in their order.</returns>
    public async Task<IReadOnlyList<IReadOnlyList<WeatherSample>>> LoadSpansAsync(
        Spot spot, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> spans, CancellationToken cancellationToken)
    {
        var samples = new List<IReadOnlyList<WeatherSample>>();
        while (samples.Count < spans.Count)
        {
            var (from, to) = spans[samples.Count];
            var together = new List<(DateTimeOffset From, DateTimeOffset To)>();
            foreach (var span in spans.Skip(samples.Count))
            {
                if (span.From > to + ReadTogether)
                    break;
                to = span.To > to ? span.To : to;
                together.Add(span);
            }

            var (own, lent) = await StepsAsync(spot, from, to, cancellationToken);
            var place = await places.LoadAsync(spot.Site, from, to, cancellationToken);
            samples.AddRange(together.Select(span => Combine(
                Within(own, span), [.. lent.Select(l => Within(l, span))], place, span.From, span.To.AddTicks(-1), until: null).Samples));
        }

        return samples;
    }

    /// <summary>As <see cref="LoadAsync"/>, for many spots and one span: what they share is read once.</summary>
    public SpanWeather Over(DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        new(store, catalogue, places, from, to, cancellationToken);

    /// <summary>Samples from a moment up to now, and on as far as a forecast reaches but not further than asked.</summary>
    public async Task<SpotWeather> LoadAheadAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset now, DateTimeOffset until, CancellationToken cancellationToken)
    {
        var (own, lent) = await StepsAsync(spot, from, now.AddTicks(1), cancellationToken);
        var place = await places.LoadAsync(spot.Site, from, until, cancellationToken);
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
        // A thousand spots a minute: made as long as they become, samples are not copied while they grow.
        var samples = new List<WeatherSample>(Math.Max(own.Count, (int)(((until ?? now) - from) / Step) + 2));
        Measure(samples, own, lent);
        return Complete(samples, place, from, now, until, isLit: false);
    }

    /// <summary>Completes what was measured by what stations and forecasts say.</summary>
    /// <param name="samples">What was measured, in time order; is added to.</param>
    /// <param name="place">Weather of the site.</param>
    /// <param name="from">First moment.</param>
    /// <param name="now">What was observed reaches no further.</param>
    /// <param name="until">How far a forecast may go on; <c>null</c> for not at all.</param>
    /// <param name="isLit">Whether the samples have their wind and sun.</param>
    public static SpotWeather Complete(
        List<WeatherSample> samples, PlaceWeather place, DateTimeOffset from, DateTimeOffset now, DateTimeOffset? until, bool isLit)
    {
        if (place.IsEmpty)
            return new SpotWeather(samples, samples.Count > 0 ? samples[^1].At : null, []);
        var measured = samples;
        samples = Bridged(measured, place.Observed, from);
        var lit = isLit && samples == measured ? samples.Count : 0;
        Continue(samples, place.Observed, from, now);
        var known = samples.Count;
        if (until is { } end)
            Continue(samples, place.Forecast, from, end);
        var windAndSun = WindAndSun.Along(place, hasForecast: until is not null);
        foreach (ref var sample in CollectionsMarshal.AsSpan(samples)[lit..])
        {
            var (wind, sun) = windAndSun(sample.At);
            sample = sample with { WindMetersPerSecond = wind, SolarWattsPerSquareMeter = sun };
        }

        return new SpotWeather(
            samples, known > 0 ? samples[known - 1].At : null,
            [.. samples.Skip(known).Select(s => (s.At, place.IssueAt(s.At)))]);
    }

    /// <summary>The ends of a span's steps for which a spot has no air of its own, in time order; none where it lacks only the step under way.</summary>
    /// <param name="own">The spot's steps.</param>
    /// <param name="from">First moment.</param>
    /// <param name="to">First moment after.</param>
    public static IReadOnlyList<DateTimeOffset> WithoutAir(IReadOnlyList<ReadingStep> own, DateTimeOffset from, DateTimeOffset to)
    {
        if (own.Count(s => s.AirCelsius is not null) >= (to - from) / Step - 1)
            return [];
        var known = own.Where(s => s.AirCelsius is not null).Select(s => s.End).ToHashSet();
        var without = new List<DateTimeOffset>();
        for (var end = NextEnd(from.AddTicks(-1)); (end - Step).AddMilliseconds(1) < to; end += Step)
        {
            if (!known.Contains(end))
                without.Add(end);
        }

        return without;
    }

    private async Task<(IReadOnlyList<ReadingStep> Own, List<IReadOnlyList<ReadingStep>> Lent)> StepsAsync(
        Spot spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var own = await store.StepsAsync(spot.Id, from, to, Step, cancellationToken);
        var without = WithoutAir(own, from, to);
        var lent = new List<IReadOnlyList<ReadingStep>>();
        if (without.Count == 0)
            return (own, lent);
        var ends = without.ToHashSet();
        var (first, after) = (without[0] - Step < from ? from : (without[0] - Step).AddMilliseconds(1), without[^1] >= to ? to : without[^1].AddMilliseconds(1));
        foreach (var other in Neighbours(catalogue, spot))
            lent.Add([.. (await store.StepsAsync(other.Id, first, after, Step, cancellationToken)).Where(s => ends.Contains(s.End))]);
        return (own, lent);
    }

    private static void Measure(List<WeatherSample> samples, IReadOnlyList<ReadingStep> own, IReadOnlyList<IReadOnlyList<ReadingStep>> lent)
    {
        if (lent.All(l => l.Count == 0))
        {
            foreach (var step in own)
            {
                if (step.AirCelsius is not null)
                    samples.Add(Sample(step, []));
            }

            return;
        }

        var mine = own.ToDictionary(s => s.End);
        var others = lent.SelectMany(s => s).ToLookup(s => s.End);
        foreach (var end in mine.Keys.Union(others.Select(o => o.Key)).Order())
        {
            var step = mine.GetValueOrDefault(end) ?? new ReadingStep(end, 0, 0);
            if (step.AirCelsius is not null || others[end].Any(o => o.AirCelsius is not null))
                samples.Add(Sample(step, others[end]));
        }
    }

    private static WeatherSample Sample(ReadingStep own, IEnumerable<ReadingStep> others) =>
        new(own.End, own.AirCelsius ?? others.Average(s => s.AirCelsius)!.Value)
        {
            HumidityPercent = own.HumidityPercent ?? others.Average(s => s.HumidityPercent),
            SurfaceCelsius = own.SurfaceCelsius,
            DoubtedSurfaceCelsius = own.SurfaceCelsius is null ? own.HeatedSurfaceCelsius : null,
        };

    /// <summary>The samples with a station's air where readings were missing for long, also before the first one.</summary>
    private static List<WeatherSample> Bridged(List<WeatherSample> samples, WeatherQuantities station, DateTimeOffset from)
    {
        if (samples.Count == 0 || station.Air.Span is null || !HasLongGap(samples, from))
            return samples;
        var bridged = new List<WeatherSample>(samples.Capacity);
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

    private static bool HasLongGap(List<WeatherSample> samples, DateTimeOffset from)
    {
        var last = from - Step;
        foreach (ref readonly var sample in CollectionsMarshal.AsSpan(samples))
        {
            if (sample.At - last > ShortGap)
                return true;
            last = sample.At;
        }

        return false;
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

    /// <summary>The steps of a span: all that hold a moment of it.</summary>
    private static IReadOnlyList<ReadingStep> Within(IReadOnlyList<ReadingStep> steps, (DateTimeOffset From, DateTimeOffset To) span)
    {
        var first = Ascending.CountUpTo(steps, span.From.AddTicks(-1), static (step, at) => step.End > at);
        var after = Ascending.CountUpTo(steps, span.To + Step - TimeSpan.FromTicks(1), static (step, at) => step.End > at);
        return [.. steps.Skip(first).Take(after - first)];
    }

    private static DateTimeOffset NextEnd(DateTimeOffset after) =>
        new(((after.UtcTicks / Step.Ticks) + 1) * Step.Ticks, TimeSpan.Zero);
}
