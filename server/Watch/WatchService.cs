using System.Collections.Concurrent;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>Watches every spot: each new reading and each tick goes through its alert machine; changes are written, told and shown.</summary>
/// <remarks>
/// Each spot has a lock of its own, so that a reading waits for a step of its spot at most, never for a tick over all. What a tick
/// decides is written together at its end; a reading that comes before has what its spot decided written at once.
/// </remarks>
internal sealed class WatchService(
    SpotCatalogue catalogue,
    ReadingFeed feed,
    SpotHistory history,
    SpotEstimates ground,
    AlertStore alertStore,
    SpotBoard board,
    ReadingJudge judge,
    WeatherStore places,
    PlannedWalks walks,
    StandingNews standing,
    WatchMetrics metrics,
    ServiceFaults faults,
    IOptions<WatchOptions> options,
    TimeProvider time,
    ILogger<WatchService> logger) : ServerBackgroundService, IAsyncDisposable
{
    /// <summary>Readings that may wait for their spot before those of others wait, too; the feed holds more, and has a bound.</summary>
    private const int MostWaiting = 1000;

    /// <summary>Set back by this, the clock could date a newer reading before an older one; by less, a reading counts by its own date.</summary>
    private static readonly TimeSpan SetBack = PackOrigin.OnItsWay;

    /// <summary>Sites that are looked at at once.</summary>
    private static readonly int AtOnce = Math.Max(1, Environment.ProcessorCount - 1);

    private static readonly TimeSpan LongestLoad = TimeSpan.FromSeconds(1);

    /// <summary>Longer a look waits for no part that all spots share, by the time of the machine; it goes on with what is known.</summary>
    private static readonly TimeSpan LongestPart = TimeSpan.FromSeconds(15);

    private static readonly TimeSpan GuardEvery = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan ForecastStep = TimeSpan.FromMinutes(5);

    private readonly ConcurrentDictionary<SpotId, SpotWatch> _watches = [];
    private readonly TaskCompletionSource _firstLook = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly ClockSteps _clock = new(time);
    private readonly Dictionary<string, Task> _parts = new(StringComparer.Ordinal);
    private readonly Lock _ended = new();
    private LookAge _lastLook = LookAge.Now(time);
    private DateTimeOffset _lastLookAt = time.GetUtcNow();
    private long _lookedAt = long.MinValue;
    private int _stepped;

    // Three days of weather are large, and looked at for a moment: made anew for each spot each minute, they would be most of what is thrown away.
    private readonly ConcurrentBag<List<WeatherSample>> _usedSamples = [];
    private readonly PeriodicTimer _timer = new(options.Value.Tick, time);

    /// <summary>Ends when the spots there are at the start have been looked at.</summary>
    public Task FirstLook => _firstLook.Task;

    /// <summary>When the last look at all spots that has ended began, by the timestamps of the watch's clock.</summary>
    public long LookedAt => Volatile.Read(ref _lookedAt);

    /// <summary>How many readings have been stepped.</summary>
    public int Stepped => Volatile.Read(ref _stepped);

    /// <summary>Fault of a watch whose looks do not end.</summary>
    public const string Fault = "watch.look";

    /// <summary>A host may be taken apart that was not stopped, or did not stop in time: what is under way ends first, for it uses what goes next.</summary>
    public async ValueTask DisposeAsync()
    {
        // Calls it off.
        base.Dispose();
        if (ExecuteTask is { } looks)
            await looks.WaitAsync(LongestPart, TimeProvider.System).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        Dispose();
    }

    public override void Dispose()
    {
        base.Dispose();
        _timer.Dispose();
        // Whoever goes on all the same finds the locks.
        if (ExecuteTask is { IsCompleted: false })
            return;
        foreach (var watch in _watches.Values)
            watch.Dispose();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        // Heard from here on, so that nothing is missed between loading and listening. The timer runs since this was made:
        // one made only now would miss a minute that passes while the first look or the first reading takes its time.
        var readings = feed.ReadAllAsync(stoppingToken);
        var began = TimeProvider.System.GetTimestamp();
        // What was done before, while the server started, is not late.
        lock (_ended)
            (_lastLook, _lastLookAt) = (LookAge.Now(time), time.GetUtcNow());
        // By the time of the machine, whatever the spots' clock does.
        var guarded = RepeatAsync(GuardEvery, TimeProvider.System, _ => { Guard(); return Task.CompletedTask; }, logger.StepFailed, stoppingToken);
        await DoAsync(TickAsync, stoppingToken);
        var milliseconds = (long)TimeProvider.System.GetElapsedTime(began).TotalMilliseconds;
        var spots = _watches.Values.Count(w => w.IsLoaded);
        logger.Began(milliseconds, spots);
        _firstLook.TrySetResult();
        await Task.WhenAll(HearAsync(readings, stoppingToken), TickAlongAsync(stoppingToken), guarded);
        await Task.WhenAll(_watches.Values.Select(w => w.Hearing));
        // A look at what was heard may be called off while it waits for the step before it, which goes on.
        await Task.WhenAll(_watches.Values.Select(w => w.StepEndsAsync(LongestPart)));
        // One that hangs must not hold up the end either.
        var saved = Task.Run(() => alertStore.SaveAsync(_watches.Values, CancellationToken.None), CancellationToken.None);
        await DoAsync(_ => saved.WaitAsync(LongestPart, TimeProvider.System, CancellationToken.None), CancellationToken.None);
    }

    /// <summary>Looks whether looks end: what hangs tells nobody of itself.</summary>
    private void Guard()
    {
        lock (_ended)
        {
            if (!_lastLook.IsLate(time, options.Value))
            {
                faults.End(Fault);
                return;
            }

            if (!faults.Standing.Any(fault => fault.Key == Fault))
                logger.NobodyLooks(_lastLookAt);
            faults.Raise(Fault, $"watch: no look at all spots has ended since {MomentTexts.Utc(_lastLookAt)}; spots that are not measured are shown as unknown, and their warnings may be missing; look at the disk of the data folder and the log, and start the server anew");
        }

        board.TellOfStale();
    }

    private async Task HearAsync(IAsyncEnumerable<HeardReading> readings, CancellationToken stoppingToken)
    {
        try
        {
            await foreach (var heard in readings)
                await DoAsync(token => HearAsync(heard, token), stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private async Task HearAsync(HeardReading heard, CancellationToken cancellationToken)
    {
        // Of a spot that was taken off the list a moment ago the store has it.
        if (WatchOf(heard.Reading.Spot) is not { } watch)
            return;
        if (heard.Reading.SupplyVolts is { } volts)
            board.NoteSupply(watch.Spot.Id, volts);
        var call = watch.Hear(heard, Now(), options.Value.Interval);
        // That a step is under way, or being written, is no reason to show less than is known.
        if (watch is { IsLoaded: true, IsStepping: true })
            Show(watch);
        // Not awaited: it holds up its own spot only.
        if (call)
            watch.Hearing = SpotAsync(watch, tick: null, cancellationToken);
        if (watch.Waiting > MostWaiting)
            await watch.Hearing;
        // Not shown before it is loaded, which is soon done; others wait for it a moment, so that all is shown in the order heard.
        else if (!watch.IsLoaded)
            await Task.WhenAny(watch.Hearing, Task.Delay(LongestLoad, TimeProvider.System, cancellationToken));
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

    /// <summary>Runs what is not one spot's; a failure is logged and the watch goes on.</summary>
    private async Task DoAsync(Func<CancellationToken, Task> work, CancellationToken stoppingToken)
    {
        try
        {
            await work(stoppingToken);
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

    /// <summary>Now, once what was measured has followed a clock that was set: it is as old as it was.</summary>
    private DateTimeOffset Now()
    {
        lock (_clock)
        {
            var ahead = _clock.Look(SetBack);
            var now = _clock.SeenAt;
            // A little ahead, everything is a little older, and in its order all the same.
            if (ahead == TimeSpan.Zero || (ahead > TimeSpan.Zero && ahead < options.Value.Interval))
                return now;
            logger.ClockLeapt(ahead);
            if (ahead > TimeSpan.Zero)
                alertStore.ClockLeaptAhead(ahead);
            foreach (var watch in _watches.Values)
            {
                if (ahead < TimeSpan.Zero)
                    watch.ClockWasSetBack(-ahead, now);
                else
                    watch.ClockLeaptAhead(ahead);
            }

            return now;
        }
    }

    private async Task TickAsync(CancellationToken cancellationToken)
    {
        var (began, at) = (TimeProvider.System.GetTimestamp(), time.GetTimestamp());
        await PartAsync("watch.catalogue", "the list of spots", catalogue.RefreshAsync, cancellationToken);
        await PartAsync("watch.weather", "the weather of places", places.RefreshAsync, cancellationToken);
        await MatchCatalogueAsync(cancellationToken);
        await PartAsync("watch.walks", "the planned walks", PlanAsync, cancellationToken);
        await TickAllAsync(cancellationToken);
        await PartAsync("watch.memory", "what the alerts remember", token => alertStore.SaveAsync(_watches.Values, token), cancellationToken);
        // Not before: what is being told just now is not written.
        alertStore.TellAgain(spot => _watches.TryGetValue(spot, out var watch) ? watch.Memory : null);
        await PartAsync("watch.standing", "who is told what stands", token => standing.TellAsync(_watches.Values, token), cancellationToken);
        metrics.Ticked(TimeProvider.System.GetElapsedTime(began));
        lock (_ended)
            (_lastLook, _lastLookAt) = (LookAge.Now(time), time.GetUtcNow());
        Volatile.Write(ref _lookedAt, at);
    }

    private async Task PlanAsync(CancellationToken cancellationToken)
    {
        var longest = await walks.LongestAsync(time.GetUtcNow(), cancellationToken);
        foreach (var watch in _watches.Values)
            watch.LongestWalk = longest.GetValueOrDefault(watch.Spot.Id.Value);
    }

    private async Task TickAllAsync(CancellationToken cancellationToken)
    {
        var now = Now();
        var batch = new AlertBatch();
        // Sites have nothing to do with each other: each processor takes one, but for the one that readings and pages need meanwhile.
        var sites = new ConcurrentQueue<IGrouping<string, SpotWatch>>(_watches.Values.Where(w => w.IsLoaded).GroupBy(w => w.Spot.Site));
        List<Task>[] steps;
        try
        {
            steps = await Task.WhenAll(Enumerable.Range(0, AtOnce).Select(_ => Task.Run(() => TickSitesAsync(sites, now, batch, cancellationToken), CancellationToken.None)).ToList());
        }
        finally
        {
            // What was decided at one site is told, whatever became of another.
            batch.Close();
            await alertStore.WriteWaitingAsync();
        }

        await Task.WhenAll(steps.SelectMany(some => some));
    }

    private async Task<List<Task>> TickSitesAsync(
        ConcurrentQueue<IGrouping<string, SpotWatch>> sites, DateTimeOffset now, AlertBatch batch, CancellationToken cancellationToken)
    {
        var steps = new List<Task>();
        while (sites.TryDequeue(out var site))
            steps.AddRange(await TickSiteAsync(site.Key, [.. site], now, batch, cancellationToken));
        return steps;
    }

    /// <summary>Looks at the spots of a site.</summary>
    /// <returns>Their steps: done, or waiting until what they decided is written.</returns>
    private async Task<List<Task>> TickSiteAsync(
        string site, IReadOnlyList<SpotWatch> watches, DateTimeOffset now, AlertBatch batch, CancellationToken cancellationToken)
    {
        var steps = new List<Task>();
        // Spots of no site are alone.
        var shared = new SiteNow(watches, places.Recent(site), ground, now);
        foreach (var watch in watches)
        {
            var share = site.Length > 0 ? shared : new SiteNow([watch], places.Recent(""), ground, now);
            steps.Add(SpotAsync(watch, () => TickAsync(watch, share, batch), cancellationToken));
            // What came in meanwhile goes between.
            await Task.Yield();
        }

        return steps;
    }

    /// <summary>Runs what all spots share; a failed one is named, and the spots known go on being watched.</summary>
    private async Task PartAsync(string fault, string what, Func<CancellationToken, Task> part, CancellationToken cancellationToken)
    {
        try
        {
            // One that hung is waited for again, and never run beside itself. The registry may answer on the calling thread.
            if (!_parts.TryGetValue(fault, out var running) || running.IsCompleted)
                _parts[fault] = running = Task.Run(() => part(cancellationToken), cancellationToken);
            await running.WaitAsync(LongestPart, TimeProvider.System, cancellationToken);
            faults.End(fault);
        }
        catch (Exception e) when (!cancellationToken.IsCancellationRequested)
        {
            logger.PartFailed(fault, e);
            faults.Raise(fault, $"watch: {what} could not be brought up to date ({e.GetType().Name}); the spots known go on being watched; look at the registry's disk and the log");
        }
    }

    /// <summary>Runs one spot's steps, alone: what was heard of it, and a tick where there is one. A failed step is named and tried again with the next reading or tick, and the others go on.</summary>
    private async Task SpotAsync(SpotWatch watch, Func<Task>? tick, CancellationToken cancellationToken)
    {
        try
        {
            if (!await watch.StepLock.WaitAsync(TimeSpan.Zero, cancellationToken))
            {
                // What it decided may wait to be written together with what others decide.
                await alertStore.WriteWaitingAsync();
                await watch.StepLock.WaitAsync(cancellationToken);
            }

            try
            {
                await LockedAsync(watch, tick, cancellationToken);
            }
            finally
            {
                watch.StepLock.Release();
            }
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            // The server stops; the loops end by themselves.
        }
    }

    private async Task LockedAsync(SpotWatch watch, Func<Task>? tick, CancellationToken cancellationToken)
    {
        watch.Come();
        // One that was taken off the list a moment ago is not watched any more.
        if (watch.IsGone || catalogue.Find(watch.Spot.Id) is not { } spot)
            return;
        try
        {
            watch.Become(spot);
            // Not on the thread that hears the readings of all.
            if (!watch.IsLoaded)
                await Task.Run(() => history.LoadAsync(watch, cancellationToken), cancellationToken);
            watch.CatchUpMemory(watch.RuleBy(options.Value));
            await CatchUpAsync(watch, cancellationToken);
            if (tick is not null)
                await tick();
            Succeeded(watch);
        }
        catch (Exception e) when (!cancellationToken.IsCancellationRequested)
        {
            watch.Failed();
            logger.SpotFailed(spot.Id.Value, watch.Failures, e);
            faults.Raise(FaultOf(watch), $"watch of {spot.Name}: {watch.Failures} steps in a row failed ({e.GetType().Name}); it is shown as unknown where it is not measured, and its alerts may be missing; look at the log, and at its fit and its settings");
            ShowFailing(watch);
        }
    }

    private static string FaultOf(SpotWatch watch) => $"watch.{watch.Spot.Id}";

    private void Succeeded(SpotWatch watch)
    {
        if (watch.Succeeded())
            faults.End(FaultOf(watch));
    }

    private void Show(SpotWatch watch) => watch.Show(board, Now(), watch.RuleBy(options.Value));

    private void ShowFailing(SpotWatch watch)
    {
        try
        {
            Show(watch);
        }
        catch (Exception e)
        {
            logger.SpotFailed(watch.Spot.Id.Value, watch.Failures, e);
            board.PublishFailing(watch.Spot);
        }
    }

    /// <summary>Steps through the readings that were not stepped yet; one whose step fails stays for the next time.</summary>
    private async Task CatchUpAsync(SpotWatch watch, CancellationToken cancellationToken)
    {
        while (watch.TryNext(out var reading))
        {
            cancellationToken.ThrowIfCancellationRequested();
            await StepAsync(watch, new Measured(Now(), reading), batch: null);
            watch.Stepped();
            Interlocked.Increment(ref _stepped);
        }
    }

    private Task TickAsync(SpotWatch watch, SiteNow site, AlertBatch batch)
    {
        var now = Now();
        return StepAsync(watch, Estimate(watch, site, now) ?? (AlertInput)new Tick(now), batch);
    }

    private async Task StepAsync(SpotWatch watch, AlertInput input, AlertBatch? batch)
    {
        var rule = watch.RuleBy(options.Value);
        await DecideAsync(watch, AlertMachine.Step(watch.Memory, input, rule), input, batch);
        var cold = AlertMachine.StepCold(watch.Memory, input, rule);
        // That it is silent, or measured again, the heat has said already.
        await DecideAsync(watch, cold.Decision is { Because: AlertReason.NoGoodReading or AlertReason.ReadingsBack } ? cold with { Decision = null } : cold, input, batch);
        Succeeded(watch);
        Show(watch);
    }

    private async Task DecideAsync(SpotWatch watch, AlertStep step, AlertInput input, AlertBatch? batch)
    {
        var (memory, decision) = step;
        if (decision is not null)
        {
            var told = await RecordAsync(watch, memory, decision, input, batch);
            watch.Changed(decision);
            logger.Changed(watch.Spot.Id.Value, decision.From, decision.To, decision.Because, decision.SurfaceCelsius, told ?? 0);
        }

        watch.Memory = memory;
    }

    private async Task<int?> RecordAsync(SpotWatch watch, AlertMemory memory, AlertDecision decision, AlertInput input, AlertBatch? batch)
    {
        watch.Decided = memory;
        try
        {
            // What was measured is not held back by what has to be written, and what one look decides is known before any of it is told.
            if (input is Measured)
                Show(watch);
            else
                ShowFailing(watch);
            // Written before it counts, or kept to be written where the registry takes nothing: if this fails, the next input decides again.
            var told = await alertStore.RecordAsync(watch.Spot, memory, decision, batch);
            // Told: from here on nothing that fails may decide it again.
            (watch.Memory, watch.Written) = (memory, told is null ? null : memory);
            return told;
        }
        finally
        {
            watch.Decided = null;
        }
    }

    /// <summary>The estimates for now and the time to come; <c>null</c> when no air is known.</summary>
    private Estimated? Estimate(SpotWatch watch, SiteNow site, DateTimeOffset stepAt)
    {
        var samples = _usedSamples.TryTake(out var used) ? used : [];
        try
        {
            return Estimate(watch, site, stepAt, samples);
        }
        finally
        {
            samples.Clear();
            _usedSamples.Add(samples);
        }
    }

    private Estimated? Estimate(SpotWatch watch, SiteNow site, DateTimeOffset stepAt, List<WeatherSample> samples)
    {
        var (now, memory, rule) = (site.Now, watch.Memory, watch.RuleBy(options.Value));
        // While walkers stand told, on for as long as an all-clear would have to hold.
        var stands = memory.Hot != HotEpisode.None || memory.RiseTold || memory.Cold is { Hot: not HotEpisode.None } or { RiseTold: true };
        var ahead = stands && rule.AllClearHolds > rule.RisingLead ? rule.AllClearHolds : rule.RisingLead;
        var weather = site.WeatherOf(watch, ahead + ForecastStep, samples);
        List<DateTimeOffset> moments = [.. Enumerable.Range(0, (int)(ahead / ForecastStep) + 1).Select(i => now + i * ForecastStep)];
        var lent = site.StatesFor(watch, weather);
        var estimation = weather.Samples.Count == 0 ? null : ground.Now(watch.Spot, weather, now + ahead, lent);
        List<SurfaceEstimate> estimates = estimation is null ? [] : Known(moments.Select(m => estimation.At(m).Value));
        judge.Expect(
            watch.Spot,
            estimation is not null && ground.HasLearnt(watch.Spot.Id) && estimation.At(now, DateTimeOffset.MinValue).Value is var dark && double.IsFinite(dark.UpperCelsius) ? dark : null,
            site.SunFractionAt(watch.Spot),
            site.RainedAt);
        watch.Expect(estimates.Count > 0 ? estimates[0] : null, ground.RecordOf(watch.Spot.Id, now), weather.AirAt(now));
        return estimates.Count == 0 ? null : new Estimated(stepAt, estimates[0], [.. estimates.Skip(1)])
        {
            // A rise that does not come may have met a cloud when it had been told.
            SunBack = memory is { Hot: HotEpisode.None, RiseTold: false } ? []
                : Known(ground.SunBack(watch.Spot, weather, moments, now, memory.Hot == HotEpisode.None ? memory.RisingToldAt : memory.EasedSince ?? memory.EstimateEasedSince, lent)),
        };
    }

    private static List<SurfaceEstimate> Known(IEnumerable<SurfaceEstimate> estimates) => [.. estimates.TakeWhile(e => double.IsFinite(e.UpperCelsius))];

    /// <summary>The watch of a spot of the catalogue; <c>null</c> for any other.</summary>
    private SpotWatch? WatchOf(SpotId id) => _watches.TryGetValue(id, out var known) ? known
        : catalogue.Find(id) is { } spot ? _watches.GetOrAdd(id, static (_, added) => new SpotWatch(added), spot) : null;

    private async Task MatchCatalogueAsync(CancellationToken cancellationToken)
    {
        foreach (var (id, watch) in _watches.Where(w => catalogue.Find(w.Key) is null))
        {
            await watch.StepLock.WaitAsync(cancellationToken);
            watch.Leave();
            watch.StepLock.Release();
            _watches.TryRemove(id, out _);
            board.Forget(id);
            judge.Forget(id);
            Succeeded(watch);
        }

        foreach (var spot in catalogue.All)
        {
            if (WatchOf(spot.Id) is { IsLoaded: false } watch)
                await SpotAsync(watch, tick: null, cancellationToken);
        }
    }
}
