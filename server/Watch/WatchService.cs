using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>Watches every spot: each new reading and each tick goes through its alert machine; changes are written, told and shown.</summary>
internal sealed class WatchService(
    SpotCatalogue catalogue,
    IReadingStore store,
    ReadingFeed feed,
    SpotEstimates ground,
    AlertStore book,
    SpotBoard board,
    WeatherStore places,
    ServiceFaults faults,
    IOptions<WatchOptions> options,
    TimeProvider time,
    ILogger<WatchService> logger) : ServerBackgroundService
{
    private static readonly TimeSpan ForecastStep = TimeSpan.FromMinutes(5);

    /// <summary>A spot read within this does not ask its neighbours; one read longer ago has nothing to lend.</summary>
    private static readonly TimeSpan LentReach = TimeSpan.FromHours(1);

    /// <summary>A start looks at readings of this time one by one, and before it at steps.</summary>
    private static readonly TimeSpan LookedAtClosely = TimeSpan.FromHours(1);

    /// <summary>Set back by this, the clock could date a newer reading before an older one; by less, a reading counts by its own date.</summary>
    private static readonly TimeSpan SetBack = PackOrigin.OnItsWay;

    private readonly Dictionary<SpotId, SpotWatch> _watches = [];

    /// <summary>Steps in a row that failed, of each spot that fails.</summary>
    private readonly Dictionary<SpotId, int> _failures = [];
    private readonly SemaphoreSlim _oneAtATime = new(1);
    private readonly ClockSteps _clock = new(time);
    private readonly PeriodicTimer _timer = new(options.Value.Tick, time);

    public override void Dispose()
    {
        _timer.Dispose();
        _oneAtATime.Dispose();
        base.Dispose();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        // Heard from here on, so that nothing is missed between loading and listening. The timer runs since this was made:
        // one made only now would miss a minute that passes while the first look or the first reading takes its time.
        var readings = feed.ReadAllAsync(stoppingToken);
        var began = TimeProvider.System.GetTimestamp();
        await DoAsync(TickAsync, stoppingToken);
        var milliseconds = (long)TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
        logger.Began(milliseconds, _watches.Count);
        await Task.WhenAll(HearAsync(readings, stoppingToken), TickAlongAsync(stoppingToken));
        await DoAsync(_ => SaveAsync(CancellationToken.None), CancellationToken.None);
    }

    private async Task HearAsync(IAsyncEnumerable<HeardReading> readings, CancellationToken stoppingToken)
    {
        try
        {
            await foreach (var reading in readings)
                await DoAsync(token => TakeAsync(reading, token), stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private async Task TickAlongAsync(CancellationToken stoppingToken)
    {
        try
        {
            while (await _timer.WaitForNextTickAsync(stoppingToken))
                await DoAsync(TickAsync, stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    /// <summary>Runs one step alone; a failed one is logged and the watch goes on.</summary>
    private async Task DoAsync(Func<CancellationToken, Task> step, CancellationToken stoppingToken)
    {
        try
        {
            await _oneAtATime.WaitAsync(stoppingToken);
            try
            {
                FollowClock();
                await step(stoppingToken);
            }
            finally
            {
                _oneAtATime.Release();
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops; the loops end by themselves.
        }
        catch (Exception e)
        {
            logger.StepFailed(e);
        }
    }

    // What was measured is as old as it was before a clock was set.
    private void FollowClock()
    {
        var ahead = _clock.Look(SetBack);
        // A little ahead, everything is a little older, and in its order all the same.
        if (ahead == TimeSpan.Zero || (ahead > TimeSpan.Zero && ahead < options.Value.Interval))
            return;
        logger.ClockLeapt(ahead);
        if (ahead > TimeSpan.Zero)
            book.ClockLeaptAhead(ahead);
        foreach (var watch in _watches.Values)
        {
            if (ahead < TimeSpan.Zero)
                watch.ClockWasSetBack(-ahead, time.GetUtcNow());
            else
                watch.ClockLeaptAhead(ahead);
        }
    }

    private async Task TickAsync(CancellationToken cancellationToken)
    {
        await PartAsync("watch.catalogue", "the list of spots", catalogue.RefreshAsync, cancellationToken);
        await PartAsync("watch.weather", "the weather of places", places.RefreshAsync, cancellationToken);
        await MatchCatalogueAsync(cancellationToken);
        foreach (var watch in _watches.Values.ToList())
            await SpotAsync(watch.Spot, token => CatchUpAndTickAsync(watch, token), cancellationToken);
        await PartAsync(
            "watch.memory", "what the alerts remember", SaveAsync, cancellationToken);
    }

    private async Task SaveAsync(CancellationToken cancellationToken)
    {
        // First what was decided: a memory without it would have forgotten it.
        if (await book.WriteEarlierAsync(cancellationToken))
            await book.SaveAsync([.. _watches.Values.Where(w => w.Unsaved)], cancellationToken);
    }

    /// <summary>Runs what all spots share; a failed one is named, and the spots known go on being watched.</summary>
    private async Task PartAsync(string fault, string what, Func<CancellationToken, Task> part, CancellationToken cancellationToken)
    {
        try
        {
            await part(cancellationToken);
            faults.End(fault);
        }
        catch (Exception e) when (!cancellationToken.IsCancellationRequested)
        {
            logger.PartFailed(fault, e);
            faults.Raise(fault, $"watch: {what} could not be brought up to date ({e.GetType().Name}); the spots known go on being watched; look at the registry's disk and the log");
        }
    }

    /// <summary>Runs one spot's step; a failed one is named and tried again with the next reading or tick, and the others go on.</summary>
    private async Task SpotAsync(Spot spot, Func<CancellationToken, Task> step, CancellationToken cancellationToken)
    {
        var fault = $"watch.{spot.Id}";
        try
        {
            await step(cancellationToken);
            if (_failures.Remove(spot.Id))
                faults.End(fault);
        }
        catch (Exception e) when (!cancellationToken.IsCancellationRequested)
        {
            var failures = _failures[spot.Id] = _failures.GetValueOrDefault(spot.Id) + 1;
            logger.SpotFailed(spot.Id.Value, failures, e);
            faults.Raise(fault, $"watch of {spot.Name}: {failures} steps in a row failed ({e.GetType().Name}); it is shown as unknown where it is not measured, and its alerts may be missing; look at the log, and at its fit and its settings");
            ShowFailing(spot);
        }
    }

    // What was measured still holds; the estimate may be from before the failure, and old news must not pass for cool.
    private void ShowFailing(Spot spot)
    {
        const string Because = "The watch of this spot fails; its alerts may be missing. Treat it as too hot.";
        try
        {
            if (_watches.TryGetValue(spot.Id, out var watch))
            {
                watch.Estimate = null;
                board.Publish(watch.Now(time.GetUtcNow(), options.Value.Rule(spot)) with { Because = Because });
                return;
            }
        }
        catch (Exception e)
        {
            logger.SpotFailed(spot.Id.Value, _failures[spot.Id], e);
        }

        board.PublishUnknown(spot, Because);
    }

    private async Task CatchUpAndTickAsync(SpotWatch watch, CancellationToken cancellationToken)
    {
        await CatchUpAsync(watch, cancellationToken);
        await TickAsync(watch, cancellationToken);
    }

    /// <summary>Steps through the readings that were not stepped yet; one whose step fails stays for the next time.</summary>
    private async Task CatchUpAsync(SpotWatch watch, CancellationToken cancellationToken)
    {
        while (watch.Unstepped.TryPeek(out var reading))
        {
            await StepAsync(watch, new Measured(time.GetUtcNow(), reading), cancellationToken);
            watch.Unstepped.Dequeue();
        }
    }

    private async Task TickAsync(SpotWatch watch, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var estimates = Estimate(watch, now);
        watch.Estimate = estimates.Count > 0 ? estimates[0] : null;
        await StepAsync(
            watch,
            estimates.Count > 0 ? new Estimated(now, estimates[0], [.. estimates.Skip(1)]) : new Tick(now),
            cancellationToken);
    }

    private async Task TakeAsync(HeardReading heard, CancellationToken cancellationToken)
    {
        var reading = heard.Reading;
        if (!_watches.TryGetValue(reading.Spot, out var watch))
        {
            await MatchCatalogueAsync(cancellationToken);
            // Of a spot that was taken off the list a moment ago, or could not be loaded: the store has it, and loading takes it from there.
            if (!_watches.TryGetValue(reading.Spot, out watch))
                return;
        }

        await SpotAsync(
            watch.Spot,
            token =>
            {
                if (reading.SupplyVolts is { } volts)
                    board.NoteSupply(reading.Spot, volts);
                Take(watch, reading, heard.CountsAt, time.GetUtcNow());
                return CatchUpAsync(watch, token);
            },
            cancellationToken);
    }

    /// <summary>Takes a reading at the moment it counts, to be stepped; what is not of now is history.</summary>
    private void Take(SpotWatch watch, Reading reading, DateTimeOffset? countsAt, DateTimeOffset now)
    {
        if (countsAt is { } at && at - now <= options.Value.Interval)
        {
            reading = reading with { MeasuredAt = at };
            // First of all, so that whatever fails from here on is done again.
            watch.Unstepped.Enqueue(reading);
            watch.Take(reading);
        }
        else
        {
            watch.TakeHistory(reading);
        }
    }

    private async Task StepAsync(SpotWatch watch, AlertInput input, CancellationToken cancellationToken)
    {
        var rule = options.Value.Rule(watch.Spot);
        var (memory, decision) = AlertMachine.Step(watch.Memory, input, rule);
        var isWritten = false;
        if (decision is not null)
        {
            // Written before it counts, or kept to be written where the registry takes nothing: if this fails, the next input decides again.
            var told = await book.RecordAsync(watch.Spot, memory, decision, cancellationToken);
            isWritten = told is not null;
            // Told: from here on nothing that fails may decide it again.
            (watch.Unsaved, watch.Memory) = (!isWritten, memory);
            watch.Because = Dated(watch.Spot, decision.At, AlertTexts.Whole(watch.Spot.Name, decision));
            logger.Changed(watch.Spot.Id.Value, decision.From, decision.To, decision.Because, decision.SurfaceCelsius, told ?? 0);
        }

        watch.Unsaved = !isWritten && (watch.Unsaved || memory != watch.Memory);
        watch.Memory = memory;
        board.Publish(watch.Now(input.Now, rule));
    }

    /// <summary>The estimates for now and the time to come; empty when no air is known.</summary>
    private List<SurfaceEstimate> Estimate(SpotWatch watch, DateTimeOffset now)
    {
        var neighbours = SiteWeather.Neighbours(catalogue, watch.Spot)
            .Select(s => _watches.GetValueOrDefault(s.Id)).OfType<SpotWatch>().ToList();
        var weather = SiteWeather.Combine(
            watch.Weather.Steps(now), [.. neighbours.Select(n => n.Weather.Steps(now))], places.Recent(watch.Spot.Site),
            now - SpotEstimation.Reach, now, now + options.Value.RisingLead + ForecastStep);
        watch.LentAirCelsius = weather.AirAt(now);
        if (weather.Samples.Count == 0)
            return [];
        var moments = Enumerable.Range(0, (int)(options.Value.RisingLead / ForecastStep) + 1).Select(i => now + i * ForecastStep);
        var states = weather.Samples.Any(s => s.At > now - LentReach && s.SurfaceCelsius is not null) ? [] : LentStates(neighbours, now);
        return [.. ground.Now(watch.Spot, weather, [.. moments], states)
            .Select(e => e.Value).TakeWhile(e => double.IsFinite(e.UpperCelsius))];
    }

    /// <summary>How far the measured spots of the site are from what their own fits expect: the same cloud is over a dark one.</summary>
    private List<NeighbourResidual> LentStates(IEnumerable<SpotWatch> neighbours, DateTimeOffset now)
    {
        var states = new List<NeighbourResidual>();
        foreach (var neighbour in neighbours)
        {
            if (neighbour.NewestGood?.MeasuredAt is not { } seen || now - seen > LentReach)
                continue;
            var weather = SiteWeather.Combine(
                neighbour.Weather.Steps(now), [], places.Recent(neighbour.Spot.Site), now - SpotEstimation.Reach, now, now);
            if (ground.StateNow(neighbour.Spot, weather, now) is { } state)
                states.Add(state);
        }

        return states;
    }

    private async Task MatchCatalogueAsync(CancellationToken cancellationToken)
    {
        foreach (var gone in _watches.Keys.Concat(_failures.Keys).Distinct().Where(id => catalogue.Find(id) is null).ToList())
        {
            _watches.Remove(gone);
            board.Forget(gone);
            if (_failures.Remove(gone))
                faults.End($"watch.{gone}");
        }

        foreach (var spot in catalogue.All)
        {
            if (_watches.TryGetValue(spot.Id, out var known))
                known.Become(spot);
            else
                await SpotAsync(spot, async token => _watches[spot.Id] = await LoadAsync(spot, token), cancellationToken);
        }
    }

    // The change may be hours old while its state lasts; undated, its temperature would pass for the current one.
    private static string Dated(Spot spot, DateTimeOffset at, string text)
    {
        var local = TimeZoneInfo.ConvertTime(at, TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId));
        return string.Create(CultureInfo.InvariantCulture, $"{local:d MMMM, HH:mm}: {text}");
    }

    private async Task<SpotWatch> LoadAsync(Spot spot, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var remembered = await book.LoadAsync(spot.Id, cancellationToken);
        var watch = new SpotWatch(spot, remembered?.Memory ?? AlertMemory.Start(now));
        if (remembered?.LastChange is { } change)
            watch.Because = Dated(spot, change.At, change.Text);
        var rule = options.Value.Rule(spot);
        var (steps, readings) = await HistoryAsync(spot, now, rule, cancellationToken);
        var groundSince = await ground.GroundSinceAsync(spot.Id, cancellationToken);
        foreach (var step in steps)
            watch.TakeHistory(step.End <= groundSince ? step with { SurfaceCelsius = null } : step);
        foreach (var stored in readings)
        {
            // No reading was measured later than it came.
            var at = stored.Reading.MeasuredAt < stored.ReceivedAt ? stored.Reading.MeasuredAt : stored.ReceivedAt;
            // What was stored but not looked at before a crash is looked at now; the machine passes over what it knows.
            if (at <= groundSince)
                watch.TakeHistory(stored.Reading with { MeasuredAt = at, SurfaceCelsius = null });
            else if (at > now - rule.SilentAfter)
                Take(watch, stored.Reading, at, now);
            else
                watch.Take(stored.Reading with { MeasuredAt = at });
        }

        await CatchUpAsync(watch, cancellationToken);
        return watch;
    }

    /// <summary>The last days as stored: steps, and the readings of the time that is looked at one by one. Nothing where the store does not give them: what comes in from now on must be watched all the same.</summary>
    /// <remarks>Three days of minutes are read in a fraction of the time as steps, and a start after a crash waits for every spot.</remarks>
    private async Task<(IReadOnlyList<ReadingStep> Steps, IReadOnlyList<StoredReading> Readings)> HistoryAsync(
        Spot spot, DateTimeOffset now, AlertRule rule, CancellationToken cancellationToken)
    {
        try
        {
            var (from, until) = (now - SpotEstimation.Reach, now + rule.Interval);
            var closely = ClosestStep(now - (rule.SilentAfter > LookedAtClosely ? rule.SilentAfter : LookedAtClosely));
            var readings = await store.RangeAsync(spot.Id, closely, until, cancellationToken);
            // Of a spot that has been silent for long, its last reading is still shown as such.
            return readings.Any(r => r.Reading is { Quality: ReadingQuality.Good, SurfaceCelsius: not null })
                ? (await store.StepsAsync(spot.Id, from, closely, SpotWeather.Step, cancellationToken), readings)
                : ([], await store.RangeAsync(spot.Id, from, until, cancellationToken));
        }
        catch (ReadingStoreException failure)
        {
            logger.WithoutHistory(spot.Id.Value, failure.Message);
            return ([], []);
        }
    }

    // Just after the end of a step, which belongs to it: no reading counts in two.
    private static DateTimeOffset ClosestStep(DateTimeOffset moment) =>
        new DateTimeOffset(moment.UtcTicks - (moment.UtcTicks % SpotWeather.Step.Ticks), TimeSpan.Zero).AddMilliseconds(1);
}
