using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>What the watch of a spot begins with: what the registry remembers of it, and its last days.</summary>
internal sealed class SpotHistory(
    IReadingStore store, SpotEstimates ground, AlertStore alerts, IOptions<WatchOptions> options, TimeProvider time, ILogger<SpotHistory> logger)
{
    /// <summary>Readings of this time are looked at one by one, and what was before it as steps.</summary>
    private static readonly TimeSpan LookedAtClosely = TimeSpan.FromHours(1);

    /// <summary>Loads a watch; where that fails, it is as it was.</summary>
    public async Task LoadAsync(SpotWatch watch, CancellationToken cancellationToken)
    {
        var (spot, now) = (watch.Spot, time.GetUtcNow());
        var rule = options.Value.Rule(spot);
        var remembered = await alerts.LoadAsync(spot.Id, cancellationToken);
        var (steps, readings, setBack) = await ReadAsync(spot, now, rule, cancellationToken);
        var groundSince = await ground.GroundSinceAsync(spot.Id, cancellationToken);
        // No reading was measured later than it came.
        var dated = readings.Select(r => r.Reading with { MeasuredAt = r.Reading.MeasuredAt < r.ReceivedAt ? r.Reading.MeasuredAt : r.ReceivedAt }).ToList();
        // What was stored but not looked at before a crash is looked at now; the machine passes over what it knows. How old it is by
        // a clock that was set back meanwhile nobody knows, and it is history.
        var looked = setBack > TimeSpan.Zero ? DateTimeOffset.MaxValue : now - rule.SilentAfter;
        watch.Begin(
            remembered?.Memory.AfterRestart(remembered.Value.SavedAt, now, rule),
            remembered?.LastChanges ?? [],
            steps.Select(s => s.End <= groundSince ? s with { SurfaceCelsius = null } : s),
            dated.Where(r => !(r.MeasuredAt <= groundSince) && r.MeasuredAt <= looked),
            dated.Where(r => r.MeasuredAt <= groundSince).Select(r => new HeardReading(r with { SurfaceCelsius = null }, null))
                .Concat(dated.Where(r => !(r.MeasuredAt <= groundSince) && r.MeasuredAt > looked).Select(r => new HeardReading(r, r.MeasuredAt))),
            now, rule, setBack);
    }

    /// <summary>The last days as stored: steps, and the readings of the time that is looked at one by one. Nothing where the store does not give them: what comes in from now on must be watched all the same.</summary>
    /// <remarks>Three days of minutes are read in a fraction of the time as steps, and a start after a crash waits for every spot.</remarks>
    /// <returns>Also how far the clock was set back since the newest was stored; zero where it was not.</returns>
    private async Task<(IReadOnlyList<ReadingStep> Steps, IReadOnlyList<StoredReading> Readings, TimeSpan SetBack)> ReadAsync(
        Spot spot, DateTimeOffset now, AlertRule rule, CancellationToken cancellationToken)
    {
        try
        {
            var setBack = await store.AheadAsync(spot.Id, now, cancellationToken);
            now += setBack;
            var (from, until) = (now - SpotEstimation.Reach, now + rule.Interval);
            var closely = ClosestStep(now - (rule.SilentAfter > LookedAtClosely ? rule.SilentAfter : LookedAtClosely));
            var readings = await store.RangeAsync(spot.Id, closely, until, cancellationToken);
            // Of a spot that has been silent for long, its last reading is still shown as such.
            return readings.Any(r => r.Reading is { Quality: ReadingQuality.Good, SurfaceCelsius: not null })
                ? (await store.StepsAsync(spot.Id, from, closely, SpotWeather.Step, cancellationToken), readings, setBack)
                : ([], await store.RangeAsync(spot.Id, from, until, cancellationToken), setBack);
        }
        catch (ReadingStoreException failure)
        {
            logger.WithoutHistory(spot.Id.Value, failure.Message);
            return ([], [], TimeSpan.Zero);
        }
    }

    // Just after the end of a step, which belongs to it: no reading counts in two.
    private static DateTimeOffset ClosestStep(DateTimeOffset moment) =>
        new DateTimeOffset(moment.UtcTicks - (moment.UtcTicks % SpotWeather.Step.Ticks), TimeSpan.Zero).AddMilliseconds(1);
}
