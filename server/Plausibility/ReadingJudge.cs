using System.Collections.Concurrent;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Plausibility;

/// <summary>
/// Judges readings of now before they are stored, by <see cref="ReadingJudgement"/>: what is stored, watched, shown and learnt from has its doubt.
/// Told each minute what the spots are expected to be.
/// </summary>
/// <remarks>
/// Before that is told for the first time, readings are judged by what was stored of their spot, and by physics. A backlog is held against
/// what its own air makes the fit expect, see <see cref="PastExpectation"/>. A spot that is not of the catalogue is left as it was sent. Safe for several threads.
/// </remarks>
internal sealed class ReadingJudge(SpotCatalogue catalogue, IReadingStore store, DoubtMetrics metrics, TimeProvider time, ILogger<ReadingJudge> logger, IPastExpectations? expectations = null) : IDisposable
{
    // Longer than the watch's longest tick.
    private static readonly TimeSpan ExpectationHolds = TimeSpan.FromMinutes(15);

    // What began before is as far as the evidence reaches, and the doubt before it.
    private static readonly TimeSpan ReadBack = 2 * SpotEvidence.Reach;
    private static readonly TimeSpan LoadAgainAfter = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan LongestLoad = TimeSpan.FromSeconds(1);

    // Who sends each minute was heard by then.
    private static readonly TimeSpan NeighboursHeardAfter = TimeSpan.FromMinutes(5);

    // Less is no matter for spans of minutes.
    private static readonly TimeSpan ClockWasSet = TimeSpan.FromSeconds(1);

    private readonly ConcurrentDictionary<SpotId, JudgedSpot> _spots = [];
    private volatile Sites? _sites;

    /// <summary>Counted up whenever a spot comes, goes or changes its site.</summary>
    private int _layout;
    private readonly ClockSteps _clock = new(time);
    private readonly Lock _following = new();
    private readonly long _startedAt = time.GetTimestamp();

    /// <summary>When the store was last asked in vain.</summary>
    private long _hungAt;

    /// <summary>Tells what a spot is expected to be.</summary>
    /// <param name="spot">The spot as it is described now.</param>
    /// <param name="expected">By its fit as if its sensor were dark; <c>null</c> where it has learnt too little.</param>
    /// <param name="sunFraction">[fraction] Measured sun over that of a clear sky; <c>null</c> where it is not measured.</param>
    /// <param name="rainedAt">When rain that is measured fell last, UTC; <c>null</c> where none did or nobody measures it.</param>
    public void Expect(Spot spot, SurfaceEstimate? expected, double? sunFraction, DateTimeOffset? rainedAt)
    {
        FollowClock();
        var judged = Judged(spot);
        if (!judged.Spot.HasGroundOf(spot))
            judged.Change(_ => SpotEvidence.None);
        var moves = judged.Spot.Site != spot.Site;
        (judged.Spot, judged.Expectation) = (spot, new Expectation(expected, sunFraction, rainedAt, time.GetUtcNow()));
        if (moves)
            Interlocked.Increment(ref _layout);
    }

    /// <summary>It is watched no more.</summary>
    public void Forget(SpotId spot)
    {
        if (_spots.TryRemove(spot, out _))
            Interlocked.Increment(ref _layout);
    }

    /// <summary>Judges a reading; one that comes again is judged as it was.</summary>
    /// <param name="reading">As it was sent.</param>
    /// <param name="countsAt">When it counts as measured, UTC; <c>null</c> for history, which comes in time order.</param>
    /// <returns>The reading with what is doubted of it.</returns>
    public async Task<Reading> JudgeAsync(Reading reading, DateTimeOffset? countsAt)
    {
        if (SpotOf(reading.Spot) is not { } spot)
            return reading;
        FollowClock();
        await spot.OneAtATime.WaitAsync();
        try
        {
            // Also where it is history by now: the store may not have taken it then.
            if (spot.VerdictOf(reading) is { } known)
                return known;
            var now = time.GetUtcNow();
            if (countsAt is not { } at || (now - at).Duration() > SpotEvidence.LevelHolds)
                return await JudgePastAsync(spot, reading, now);
            spot.LeaveBacklog(now);
            // Heat is never doubted here, and waits for nothing.
            if (!(reading.SurfaceCelsius >= spot.Spot.LimitCelsius))
                await LoadAsync(spot, now);
            var expectation = now - spot.Expectation.ToldAt <= ExpectationHolds ? spot.Expectation : null;
            var around = new Surroundings
            {
                Expected = expectation?.Surface,
                SunFraction = expectation?.SunFraction,
                RainedAt = expectation?.RainedAt,
                Neighbours = [.. Beside(spot).Select(s => s.Evidence)],
                AreNeighboursHeard = time.GetElapsedTime(_startedAt) > NeighboursHeardAfter || !HasNeighbour(spot.Spot),
            };
            JudgedReading? judged = null;
            spot.Change(before => (judged = ReadingJudgement.Judge(before, reading with { MeasuredAt = at }, spot.Spot, around)).Evidence);
            Count(spot, judged!, around);
            return spot.Keep(reading, judged!.Reading with { MeasuredAt = reading.MeasuredAt });
        }
        finally
        {
            spot.OneAtATime.Release();
        }
    }

    /// <summary>Since when a spot's readings look too cool, UTC; <c>null</c> when they do not.</summary>
    public DateTimeOffset? DoubtedSince(SpotId spot) => _spots.GetValueOrDefault(spot)?.Evidence.DoubtedSince;

    /// <summary>Somebody has looked at a spot and says that its sensor is right.</summary>
    /// <returns>Whether its readings looked too cool.</returns>
    public bool Explain(SpotId spot)
    {
        if (_spots.GetValueOrDefault(spot) is not { Evidence.DoubtedSince: not null } judged)
            return false;
        FollowClock();
        judged.Change(e => e.Explained(time.GetUtcNow()));
        return true;
    }

    /// <summary>Somebody has held a thermometer against a spot.</summary>
    /// <param name="spot">The spot.</param>
    /// <param name="at">When, UTC.</param>
    /// <param name="celsius">[°C] The ground by the thermometer.</param>
    public void Check(SpotId spot, DateTimeOffset at, double celsius)
    {
        FollowClock();
        _spots.GetValueOrDefault(spot)?.Change(e => e.Checked(at, celsius));
    }

    public void Dispose()
    {
        foreach (var spot in _spots.Values)
            spot.Dispose();
    }

    /// <summary>What was seen, and how long it is doubted, is as old as it was before a clock was set. After a sleep a doubt only lasts longer.</summary>
    /// <remarks>Here and not when the watch sees it: the first reading after is judged before the watch hears of it.</remarks>
    private void FollowClock()
    {
        lock (_following)
        {
            var ahead = _clock.Look(ClockWasSet);
            if (ahead == TimeSpan.Zero)
                return;
            foreach (var spot in _spots.Values)
            {
                spot.Change(e => e.Later(ahead));
                if (spot.Expectation is { ToldAt: var told } expectation && told > DateTimeOffset.MinValue)
                    spot.Expectation = expectation with { ToldAt = told + ahead };
            }
        }
    }

    private JudgedSpot? SpotOf(SpotId id) => _spots.TryGetValue(id, out var known) ? known
        : catalogue.Find(id) is { } spot ? Judged(spot) : null;

    private JudgedSpot Judged(Spot spot)
    {
        if (_spots.TryGetValue(spot.Id, out var known))
            return known;
        var added = new JudgedSpot(spot);
        var judged = _spots.GetOrAdd(spot.Id, added);
        if (judged == added)
            Interlocked.Increment(ref _layout);
        else
            added.Dispose();
        return judged;
    }

    // Every reading asks for those of its site: not all spots are looked through each time.
    private IEnumerable<JudgedSpot> Beside(JudgedSpot spot)
    {
        var layout = Volatile.Read(ref _layout);
        if (_sites is not { } sites || sites.Layout != layout)
            _sites = sites = new Sites(layout, _spots.Values.ToLookup(s => s.Spot.Site));
        return spot.Spot.Site.Length == 0 ? [] : sites.Spots[spot.Spot.Site].Where(s => s != spot);
    }

    private bool HasNeighbour(Spot spot) => spot.Site.Length > 0 && catalogue.All.Any(other => other.Site == spot.Site && other.Id != spot.Id);

    private void Count(JudgedSpot spot, JudgedReading judged, Surroundings around)
    {
        metrics.Judged(judged);
        var (id, reading) = (spot.Spot.Id.Value, judged.Reading);
        if (judged.Explanation != Explanation.None)
            logger.Believed(id, reading.SurfaceCelsius, judged.Explanation);
        else if (judged.Evidence.DoubtedSince == reading.MeasuredAt)
            logger.Doubted(id, reading.SurfaceCelsius, reading.Doubt, around.Expected?.SurfaceCelsius);
    }

    private async Task<Reading> JudgePastAsync(JudgedSpot spot, Reading reading, DateTimeOffset now)
    {
        // By a clock that was wrong nobody knows what came before it.
        if (reading.MeasuredAt > now)
            return reading;
        var past = spot.Past;
        if (!(reading.MeasuredAt > past.NewestAt && reading.MeasuredAt - past.NewestAt <= SpotEvidence.Reach))
        {
            if (await PastAsync(spot, reading.MeasuredAt, now) is not { } read)
                return reading;
            past = AsLookedAt(read, spot.Evidence, reading.MeasuredAt);
            spot.PastExpectation = await ExpectedFromAsync(spot, reading.MeasuredAt, now);
        }

        var expected = spot.PastExpectation?.At(reading);
        var around = new Surroundings { Expected = expected?.Surface, SunFraction = expected?.SunFraction, Neighbours = [.. Beside(spot).Select(s => s.Past)] };
        var judged = ReadingJudgement.Judge(past, reading, spot.Spot, around);
        (spot.Past, spot.BacklogAt) = (judged.Evidence, now);
        metrics.Judged(judged);
        return judged.Reading;
    }

    /// <summary>What somebody has looked at holds for its backlog, too, though the store does not say so.</summary>
    private static SpotEvidence AsLookedAt(SpotEvidence past, SpotEvidence now, DateTimeOffset at) =>
        now is { AcceptedUntil: { } until, AcceptedByWeather: false } && until > at && until - SpotEvidence.AcceptedFor <= at
            ? past with { AcceptedUntil = until, AcceptedByWeather = false }
            : past;

    private async Task<PastExpectation?> ExpectedFromAsync(JudgedSpot spot, DateTimeOffset first, DateTimeOffset now)
    {
        try
        {
            return expectations is null ? null
                : await expectations.FromAsync(spot.Spot, first, now, CancellationToken.None).WaitAsync(LongestLoad, TimeProvider.System);
        }
        catch (Exception failure) when (failure is ReadingStoreException or TimeoutException or System.Data.Common.DbException)
        {
            logger.WithoutHistory(spot.Spot.Id.Value, failure.Message);
            return null;
        }
    }

    /// <summary>What is stored from before a moment; <c>null</c> where the store does not answer soon.</summary>
    private async Task<SpotEvidence?> PastAsync(JudgedSpot spot, DateTimeOffset before, DateTimeOffset now)
    {
        if (now.UtcTicks - Interlocked.Read(ref _hungAt) < LoadAgainAfter.Ticks)
            return null;
        try
        {
            var stored = await store.RangeAsync(spot.Spot.Id, before - ReadBack, before, CancellationToken.None).WaitAsync(LongestLoad, TimeProvider.System);
            return SpotEvidence.Of(stored.Select(s => s.Reading));
        }
        catch (Exception failure) when (failure is ReadingStoreException or TimeoutException)
        {
            Interlocked.Exchange(ref _hungAt, now.UtcTicks);
            logger.WithoutHistory(spot.Spot.Id.Value, failure.Message);
            return null;
        }
    }

    /// <summary>What was judged before the start. Where the store does not answer at once, readings go on without; one is asked for all.</summary>
    private async Task LoadAsync(JudgedSpot spot, DateTimeOffset now)
    {
        if (spot.IsLoaded || now.UtcTicks - Interlocked.Read(ref _hungAt) < LoadAgainAfter.Ticks)
            return;
        spot.Loading ??= ReadAsync(spot, now);
        if (await Task.WhenAny(spot.Loading, Task.Delay(LongestLoad, TimeProvider.System)) == spot.Loading && await spot.Loading)
            return;
        Interlocked.Exchange(ref _hungAt, now.UtcTicks);
        if (spot.Loading.IsCompleted)
            spot.Loading = null;
    }

    private async Task<bool> ReadAsync(JudgedSpot spot, DateTimeOffset now)
    {
        try
        {
            // Set back while the server was down, the clock makes nothing doubted long ago, or not at all.
            var ahead = await store.AheadAsync(spot.Spot.Id, now, CancellationToken.None);
            var until = ahead == TimeSpan.Zero ? now : now + ahead + TimeSpan.FromMilliseconds(1);
            var stored = await store.RangeAsync(spot.Spot.Id, until - ReadBack, until, CancellationToken.None);
            spot.Change(e => e.Recent.Count == 0 ? SpotEvidence.Of(stored.Select(s => s.Reading)).Later(-ahead) : e);
            spot.IsLoaded = true;
            return true;
        }
        catch (ReadingStoreException failure)
        {
            logger.WithoutHistory(spot.Spot.Id.Value, failure.Message);
            return false;
        }
    }

    private sealed record Sites(int Layout, ILookup<string, JudgedSpot> Spots);

    private sealed record Expectation(SurfaceEstimate? Surface, double? SunFraction, DateTimeOffset? RainedAt, DateTimeOffset ToldAt);

    private sealed class JudgedSpot(Spot spot) : IDisposable
    {
        // A gateway sends again what it heard no answer to: some minutes.
        private const int MostVerdicts = 128;

        private readonly Lock _lock = new();
        private readonly Dictionary<Reading, Reading> _verdicts = [];
        private readonly Queue<Reading> _order = [];
        private volatile SpotEvidence _evidence = SpotEvidence.None;
        private volatile SpotEvidence _past = SpotEvidence.None;
        private volatile bool _isLoaded;
        private volatile Spot _spot = spot;
        private volatile Expectation _expectation = new(null, null, null, DateTimeOffset.MinValue);

        public SemaphoreSlim OneAtATime { get; } = new(1);

        public Spot Spot { get => _spot; set => _spot = value; }

        public Expectation Expectation { get => _expectation; set => _expectation = value; }

        public SpotEvidence Evidence => _evidence;

        /// <summary>What was seen up to the last reading of its backlog.</summary>
        public SpotEvidence Past { get => _past; set => _past = value; }

        /// <summary>What it was expected to be while its backlog was measured; <c>null</c> where that is not known. With <see cref="OneAtATime"/> only.</summary>
        public PastExpectation? PastExpectation { get; set; }

        /// <summary>When a reading of its backlog came last, UTC; with <see cref="OneAtATime"/> only.</summary>
        public DateTimeOffset BacklogAt { get; set; }

        /// <summary>Keeps no weather of a backlog that has ended.</summary>
        public void LeaveBacklog(DateTimeOffset now)
        {
            if (PastExpectation is null || (now - BacklogAt).Duration() <= SpotEvidence.LevelHolds)
                return;
            (PastExpectation, Past) = (null, SpotEvidence.None);
        }

        public bool IsLoaded { get => _isLoaded; set => _isLoaded = value; }

        /// <summary>The reading of its past that is under way; with <see cref="OneAtATime"/> only.</summary>
        public Task<bool>? Loading { get; set; }

        public void Change(Func<SpotEvidence, SpotEvidence> change)
        {
            lock (_lock)
                _evidence = change(_evidence);
        }

        public void Dispose() => OneAtATime.Dispose();

        public Reading? VerdictOf(Reading sent) => _verdicts.GetValueOrDefault(sent);

        public Reading Keep(Reading sent, Reading judged)
        {
            _verdicts[sent] = judged;
            _order.Enqueue(sent);
            while (_order.Count > MostVerdicts)
                _verdicts.Remove(_order.Dequeue());
            return judged;
        }
    }
}
