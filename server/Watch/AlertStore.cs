using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>Writes what the alert machine remembers and decides, and puts what walkers are told into the outbox, all in one transaction.</summary>
/// <remarks>
/// One writes at a time, in the order decided; what waits meanwhile is written together. A registry that hangs holds nothing up: a change that
/// it has not taken in time is told from memory, and where it takes it after all, nobody is told again.
/// </remarks>
internal sealed class AlertStore(
    IDbContextFactory<RegistryDb> registry, AlertNotifications news, NotificationOutbox outbox, UnwrittenAlerts unwritten, TimeProvider time,
    ILogger<AlertStore> logger) : IDisposable
{
    /// <summary>Longer no change waits for the registry, by the time of the machine; a commit takes a fraction of it.</summary>
    private static readonly TimeSpan LongestWrite = TimeSpan.FromSeconds(5);

    // Each takes three of the parameters that a statement may have.
    private const int MemoriesPerStatement = 250;

    private readonly SemaphoreSlim _oneAtATime = new(1);
    private readonly ConcurrentQueue<Change> _waiting = [];

    public void Dispose() => _oneAtATime.Dispose();

    /// <summary>What is remembered of a spot, since when, and its last changes, one of the heat and one of the cold; <c>null</c> when nothing is.</summary>
    public async Task<(AlertMemory Memory, DateTimeOffset SavedAt, IReadOnlyList<AlertDecision> LastChanges)?> LoadAsync(SpotId spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var row = await db.AlertMemories.AsNoTracking().SingleOrDefaultAsync(m => m.SpotId == spot.Value, cancellationToken);
        if (row is null)
            return null;
        var newest = db.AlertEvents.Where(e => e.SpotId == spot.Value).NewestIds();
        var changes = await db.AlertEvents.AsNoTracking().Where(e => newest.Contains(e.Id)).OrderBy(e => e.Id).ToListAsync(cancellationToken);
        return (JsonSerializer.Deserialize<AlertMemory>(row.Json)!, row.SavedAt, changes.ConvertAll(e => e.Decision()));
    }

    /// <summary>Writes a change down with its memory, and tells walkers if it says so. Where the registry takes nothing, they are told from memory.</summary>
    /// <returns>How many devices will be told; <c>null</c> where it is not written yet.</returns>
    public Task<int?> RecordAsync(Spot spot, AlertMemory memory, AlertDecision decision, CancellationToken cancellationToken)
    {
        cancellationToken.ThrowIfCancellationRequested();
        return RecordAsync(spot, memory, decision, batch: null);
    }

    /// <summary>The same, together with others: while the batch is open, the change waits for <see cref="WriteWaitingAsync"/>. Not to be given up, for whoever does not hear that it is written would decide it again.</summary>
    public async Task<int?> RecordAsync(Spot spot, AlertMemory memory, AlertDecision decision, AlertBatch? batch)
    {
        var change = new Change(spot, memory, decision);
        _waiting.Enqueue(change);
        if (batch is { IsOpen: true })
            await Task.WhenAny(change.Told.Task, batch.Closed);
        // Not awaited: it may hang, and then it writes, or passes over, when it is let go.
        _ = WriteAllWaitingAsync();
        if (!await EndsAsync(change.Told.Task))
            TellFromMemory(change);
        return await change.Told.Task;
    }

    /// <summary>Writes what waits to be written. A registry that hangs is not waited for any longer than a change is.</summary>
    public Task WriteWaitingAsync() => EndsAsync(WriteAllWaitingAsync());

    /// <summary>Whether something ends in time.</summary>
    private static async Task<bool> EndsAsync(Task task)
    {
        await task.WaitAsync(LongestWrite, TimeProvider.System).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        return task.IsCompleted;
    }

    private async Task WriteAllWaitingAsync()
    {
        if (_waiting.IsEmpty)
            return;
        await _oneAtATime.WaitAsync();
        try
        {
            var changes = new List<Change>();
            while (_waiting.TryDequeue(out var change))
            {
                if (!change.IsKept)
                    changes.Add(change);
            }

            // The database may answer on the calling thread, and other spots' readings are heard on it.
            if (changes.Count > 0)
                await Task.Run(() => WriteOrSayAsync(changes));
        }
        finally
        {
            _oneAtATime.Release();
        }
    }

    /// <summary>Writes down what the registry did not take earlier, if it does now, and then memories that changed without a decision.</summary>
    public async Task SaveAsync(IEnumerable<SpotWatch> watches, CancellationToken cancellationToken)
    {
        await WriteWaitingAsync();
        await _oneAtATime.WaitAsync(cancellationToken);
        try
        {
            // First what was decided: a memory without it would have forgotten it.
            if (!await unwritten.WriteAsync(cancellationToken))
                return;
            // What a step under way has written may not be remembered yet. One that begins now writes after this.
            var unsaved = watches.Where(w => w.IsLoaded && !w.IsStepping && w.Memory != w.Written).Select(w => (Watch: w, w.Memory)).ToList();
            if (unsaved.Count == 0)
                return;
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            await PutAsync(db, [.. unsaved.Select(u => (u.Watch.Spot.Id, u.Memory))], time.GetUtcNow(), cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            foreach (var (watch, memory) in unsaved)
                watch.Written = memory;
        }
        finally
        {
            _oneAtATime.Release();
        }
    }

    /// <summary>Tells again from memory what the registry does not take, whatever it does meanwhile.</summary>
    /// <param name="memoryOf">What is remembered of a spot now; <c>null</c> where it is not watched.</param>
    public void TellAgain(Func<SpotId, AlertMemory?> memoryOf) => unwritten.TellAgain(memoryOf);

    /// <summary>The clock leapt ahead under what is not written yet.</summary>
    public void ClockLeaptAhead(TimeSpan by) => unwritten.ClockLeaptAhead(by);

    /// <summary>Writes down what is remembered of some spots, each named once.</summary>
    /// <remarks>In one statement: two that look first and write then could both find nothing.</remarks>
    public static async Task PutAsync(
        RegistryDb db, IReadOnlyList<(SpotId Spot, AlertMemory Memory)> memories, DateTimeOffset at, CancellationToken cancellationToken)
    {
        foreach (var some in memories.Chunk(MemoriesPerStatement))
        {
            var rows = Enumerable.Range(0, some.Length).Select(i => string.Create(CultureInfo.InvariantCulture, $"({{{3 * i}}}, {{{(3 * i) + 1}}}, {{{(3 * i) + 2}}})"));
            var sql = $"""
                INSERT INTO "AlertMemories" ("SpotId", "Json", "SavedAt")
                VALUES {string.Join(", ", rows)}
                ON CONFLICT ("SpotId") DO UPDATE SET "Json" = excluded."Json", "SavedAt" = excluded."SavedAt"
                """;
            await db.Database.ExecuteSqlRawAsync(
                sql,
                some.SelectMany(m => new object[] { m.Spot.Value, JsonSerializer.Serialize(m.Memory), at.ToUnixTimeMilliseconds() }),
                cancellationToken);
        }
    }

    /// <summary>Whatever happens, each change hears of it: its spot waits for that.</summary>
    private async Task WriteOrSayAsync(IReadOnlyList<Change> changes)
    {
        try
        {
            await WriteAsync(changes);
        }
        catch (Exception failure)
        {
            foreach (var change in changes)
                change.Told.TrySetException(failure);
        }
    }

    private async Task WriteAsync(IReadOnlyList<Change> changes)
    {
        try
        {
            // What happened first is written first.
            if (await unwritten.WriteAsync(CancellationToken.None))
                await WriteTogetherAsync([.. changes.Where(change => !change.IsKept)]);
            else
                Keep(changes, null);
        }
        catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
        {
            Keep(changes, failure);
        }
        catch (Exception) when (changes.Count > 1)
        {
            // One that cannot be written is no reason to tell of no other.
            foreach (var change in changes.Where(change => !change.IsKept))
                await WriteOrSayAsync([change]);
        }
    }

    private void Keep(IReadOnlyList<Change> changes, Exception? failure)
    {
        foreach (var change in changes)
            change.Keep(() => unwritten.Add(change.Spot, change.Memory, change.Decision, failure));
    }

    private void TellFromMemory(Change change)
    {
        if (change.Keep(() => unwritten.Add(change.Spot, change.Memory, change.Decision, failure: null)))
            logger.RegistryHangs(change.Spot.Id.Value, LongestWrite);
    }

    private async Task WriteTogetherAsync(IReadOnlyList<Change> changes)
    {
        if (changes.Count == 0)
            return;
        await using var db = await registry.CreateDbContextAsync();
        await using var transaction = await db.Database.BeginTransactionAsync();
        await PutAsync(db, [.. changes.GroupBy(c => c.Spot.Id).Select(g => (g.Key, g.Last().Memory))], time.GetUtcNow(), CancellationToken.None);
        var rows = changes.Select(c => AlertEventRow.Of(c.Spot.Id, c.Decision)).ToList();
        db.AlertEvents.AddRange(rows);
        await db.SaveChangesAsync();
        var told = new int[changes.Count];
        var toTell = Enumerable.Range(0, changes.Count).Where(i => changes[i].Decision.Notify).ToList();
        var found = await news.PutAsync(db, [.. toTell.Select(i => (changes[i].Spot, changes[i].Decision, rows[i].Id, changes[i].Decision.At))], CancellationToken.None);
        foreach (var (i, (devices, walkers)) in toTell.Zip(found))
        {
            (told[i], rows[i].Walkers) = (devices, walkers);
            rows[i].Unseen = changes[i].Decision.IsWarning && walkers > 0 ? UnseenStanding.Watched : UnseenStanding.None;
        }

        await db.SaveChangesAsync();
        await transaction.CommitAsync();
        if (told.Any(devices => devices > 0))
            outbox.Call();
        for (var i = 0; i < told.Length; i++)
            changes[i].Wrote(told[i], rows[i].Id);
    }

    private sealed class Change(Spot spot, AlertMemory memory, AlertDecision decision)
    {
        private readonly Lock _lock = new();
        private volatile UnwrittenChange? _kept;

        public Spot Spot { get; } = spot;

        public AlertMemory Memory { get; } = memory;

        public AlertDecision Decision { get; } = decision;

        /// <summary>How many devices will be told; <c>null</c> where they are told from memory.</summary>
        public TaskCompletionSource<int?> Told { get; } = new(TaskCreationOptions.RunContinuationsAsynchronously);

        /// <summary>Whether it is told from memory, and written from there.</summary>
        public bool IsKept => _kept is not null;

        /// <summary>Has it told from memory, unless it is written or failed.</summary>
        /// <returns>Whether it is told so from here on.</returns>
        public bool Keep(Func<UnwrittenChange> keep)
        {
            lock (_lock)
            {
                if (Told.Task.IsCompleted)
                    return false;
                _kept = keep();
                return Told.TrySetResult(null);
            }
        }

        /// <summary>It is written, perhaps later than anybody waited for.</summary>
        public void Wrote(int devices, int eventId)
        {
            lock (_lock)
            {
                _kept?.WrittenAs = eventId;
                Told.TrySetResult(devices);
            }
        }
    }
}
