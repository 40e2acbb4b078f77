using Microsoft.Extensions.Options;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Watch;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Days;

/// <summary>Days of spots: what was measured, what is estimated for the gaps and the hours ahead, and when it was too hot. The same for everybody.</summary>
internal sealed class SpotDays(
    SpotCatalogue catalogue, IReadingStore store, ReadingRevisions revisions, SpotEstimates ground, WeatherStore places, SpotBoard board, DayCache made,
    IOptions<WatchOptions> options, TimeProvider time) : ISpotDays
{
    /// <summary>Spacing of measured points.</summary>
    public static readonly TimeSpan Step = TimeSpan.FromMinutes(5);

    private static readonly TimeSpan EstimateStep = TimeSpan.FromMinutes(10);

    // What two clocks that are kept differ by.
    private static readonly TimeSpan Ordinary = TimeSpan.FromMinutes(1);

    // How far ahead the air of the day before still says something.
    private static readonly TimeSpan Ahead = TimeSpan.FromHours(36);

    // A forecast says more, but nobody plans a walk three days ahead by it.
    private static readonly TimeSpan ForecastAhead = TimeSpan.FromHours(48);

    public DateOnly? Today(SpotId spot) => catalogue.Find(spot) is { } known
        ? LocalDay.Of(Zone(known), time.GetUtcNow())
        : null;

    public async Task<SpotDay?> DayAsync(SpotId spot, DateOnly day, CancellationToken cancellationToken)
    {
        if (catalogue.Find(spot) is not { } place)
            return null;
        var now = time.GetUtcNow();
        // Asked before anything is read: what comes in meanwhile is another basis.
        var shown = board.Find(spot);
        var basis = new DayBasis(
            place, now.UtcTicks / TimeSpan.TicksPerMinute, revisions.Of(spot), places.Edition, ground.FitInUse(spot), shown?.MeasuredAt is not null, shown?.IcySince);
        // Made for all who ask: it goes on when one of them leaves.
        return await made.GetAsync(spot, day, basis, () => MakeAsync(basis, day, now, CancellationToken.None)).WaitAsync(cancellationToken);
    }

    private async Task<SpotDay> MakeAsync(DayBasis basis, DateOnly day, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var place = basis.Spot;
        var from = LocalDay.Start(Zone(place), day);
        var to = LocalDay.Start(Zone(place), day.AddDays(1));
        // What is dated later than now was measured by another clock.
        var known = to < now + Ordinary ? to : now + Ordinary;
        var steps = from < known ? await store.StepsAsync(place.Id, from, known, Step, cancellationToken) : [];
        var doubted = await DoubtedAsync(place, steps, cancellationToken);
        var (estimates, coming) = await EstimatesAsync(place, steps, from, to, now, cancellationToken);
        var moments = steps.Where(s => s.SurfaceCelsius is not null || s.AirCelsius is not null).Select(s => Moment.Of(s, place.LimitCelsius))
            .Concat(estimates.Select(e => Moment.Of(e, place.LimitCelsius)))
            .OrderBy(m => m.Point.At).ThenBy(m => m.Estimated).ToList();
        return new SpotDay(
            place, day, from, to,
            [.. moments.Select(m => m.Point)],
            TooHotSpans.Of(moments, doubted.Where(d => d.IsTooHot(place.LimitCelsius)), to))
        {
            Coming = coming,
            Doubted = doubted,
            Record = to > now ? ground.RecordOf(place.Id, now) : null,
            NeverMeasured = !basis.WasMeasured && steps.All(s => s.SurfaceCelsius is null),
            Icy = (await IcyAsync(place, steps, estimates, from, to, now, cancellationToken)).With(basis.IcySince, now, from, to),
        };
    }

    private async Task<IReadOnlyList<IcySpan>> IcyAsync(
        Spot spot, IReadOnlyList<ReadingStep> steps, IReadOnlyList<SurfaceEstimate> estimates, DateTimeOffset from, DateTimeOffset to, DateTimeOffset now,
        CancellationToken cancellationToken)
    {
        // Where a step is measured there is no estimate beside it.
        List<GroundSight> sights =
        [
            .. steps.Where(s => s.SurfaceCelsius is not null).Select(s => IceHistory.SightOf(s, s.SurfaceCelsius!.Value))
                .Concat(estimates.Select(e => IcySpans.SightOf(e, now))).OrderBy(s => s.At),
        ];
        if (!sights.Exists(s => s.SurfaceCelsius < IcySpans.ColdDayCelsius))
            return [];
        var longestGap = options.Value.Rule(spot).LongestIceGap;
        var before = new IceMemory();
        foreach (var step in await store.StepsAsync(spot.Id, from - IcySpans.Reach, from, SpotWeather.Step, cancellationToken))
            before = before.After(step, longestGap);
        return IcySpans.Of(before, sights, longestGap, from, to);
    }

    private async Task<IReadOnlyList<DoubtedSpan>> DoubtedAsync(Spot spot, IReadOnlyList<ReadingStep> steps, CancellationToken cancellationToken)
    {
        var spans = new List<DoubtedSpan>();
        foreach (var step in steps.Where(s => s.SurfaceCelsius is null && s.Doubts != Doubt.None))
        {
            if (spans.Count > 0 && step.End - spans[^1].To <= 2 * Step)
                spans[^1] = spans[^1] with { To = step.End, Doubt = spans[^1].Doubt | step.Doubts };
            else
                spans.Add(new DoubtedSpan(step.End - Step, step.End, step.Doubts));
        }

        // Steps do not have the surfaces that do not count; walkers were told of these all the same.
        var readings = spans.Count == 0 ? [] : await store.RangesAsync(
            spot.Id, [.. spans.Select(s => (s.From.AddMilliseconds(1), s.To.AddMilliseconds(1)))], cancellationToken);
        return [.. spans.Select(span =>
        {
            var said = readings.Where(r => r.Reading.Quality == ReadingQuality.Suspect && r.Reading.MeasuredAt > span.From && r.Reading.MeasuredAt <= span.To)
                .Select(r => r.Reading.SurfaceCelsius).ToList();
            return span with { HottestCelsius = said.Max(), ColdestCelsius = said.Min() };
        })];
    }

    private async Task<(IReadOnlyList<SurfaceEstimate> Estimates, ComingHours? Coming)> EstimatesAsync(
        Spot spot, IReadOnlyList<ReadingStep> steps, DateTimeOffset from, DateTimeOffset to, DateTimeOffset now,
        CancellationToken cancellationToken)
    {
        // A day that was measured throughout, as most that are over, asks for no weather and no fit.
        var moments = WithoutMeasurement(steps, from, to);
        if (moments.Count == 0)
            return ([], null);
        var known = to < now ? to : now;
        var furthest = now + ForecastAhead < to ? now + ForecastAhead : to;
        var air = await ground.WeatherAsync(spot, from, furthest, now, cancellationToken);
        // Without air near the day an estimate would be invented.
        if (air.Samples.Count == 0 || air.Samples[^1].At < from - (Ahead / 3))
            return ([], null);
        var last = new[] { (air.KnownUntil ?? DateTimeOffset.MinValue) + Ahead, air.Samples[^1].At }.Max();
        moments.RemoveAll(at => at > last);
        var estimates = (await ground.AsOfAsync(known, spot, air, moments, cancellationToken))
            .Where(e => double.IsFinite(e.Value.UpperCelsius)).ToList();
        return ([.. estimates.Select(e => e.Value)], Coming(air, estimates, now));
    }

    /// <summary>Moments of a day beside which nothing was measured.</summary>
    private static List<DateTimeOffset> WithoutMeasurement(IReadOnlyList<ReadingStep> steps, DateTimeOffset from, DateTimeOffset to)
    {
        var measured = steps.Where(s => s.SurfaceCelsius is not null).Select(s => s.End).ToList();
        var moments = new List<DateTimeOffset>();
        var next = 0;
        for (var at = from; at <= to; at += EstimateStep)
        {
            while (next < measured.Count && measured[next] <= at - EstimateStep)
                next++;
            var isMeasured = next < measured.Count && measured[next] < at + EstimateStep;
            if (!isMeasured)
                moments.Add(at);
        }

        return moments;
    }

    /// <summary>What a page says of the air of the coming hours; <c>null</c> when no moment lies ahead.</summary>
    private static ComingHours? Coming(SpotWeather air, IReadOnlyList<InformedEstimate> estimates, DateTimeOffset now)
    {
        var ahead = estimates.Where(e => e.Value.At > now).ToList();
        if (ahead.Count == 0)
            return null;
        var told = ahead.Where(e => air.OriginAt(e.Value.At) == AirOrigin.Forecast).ToList();
        return new ComingHours(
            ahead[0].Value.At, told.Count > 0 ? Used(air, told) : null, ahead.All(e => air.OriginAt(e.Value.At) != AirOrigin.Repeated));
    }

    private static ForecastUsed Used(SpotWeather air, List<InformedEstimate> told)
    {
        var (first, last) = (told[0].Value.At, told[^1].Value.At);
        var issues = air.Forecast.Where(f => f.End > first - SpotWeather.Step && f.End < last + SpotWeather.Step).Select(f => f.IssuedAt).ToList();
        return new ForecastUsed(
            first, last, issues.Min(), issues.Max(),
            WithWind: told.All(e => e.Inputs.HasFlag(OffsetInputs.Wind)),
            WithSun: told.All(e => e.Inputs.HasFlag(OffsetInputs.Solar)));
    }

    private static TimeZoneInfo Zone(Spot spot) => TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
}
