using System.Collections.Concurrent;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>
/// Changes that the registry did not take, as on a full disk or one that hangs: ground does not wait for a disk, so devices are told from memory,
/// and the changes are written, in their order, as soon as the registry takes them.
/// </summary>
/// <remarks>
/// Telling and writing do not wait for each other: each minute what is not told yet is told again, whatever the registry does, and a change
/// leaves this list when what became of telling it is written. Until then nobody else tells of its spot. One that can never be written is
/// given up once it is told. A restart before they are written forgets them; the next reading decides again. Each is
/// written together with what the machine remembered then, so that a restart after that knows what was told.
/// </remarks>
internal sealed class UnwrittenAlerts(
    IDbContextFactory<RegistryDb> registry,
    AlertNotifications news,
    StandingNews standing,
    PushSender sender,
    NotificationOutbox outbox,
    DeviceLocks turns,
    UnseenWarnings unseen,
    ServiceFaults faults,
    TimeProvider time,
    ILogger<UnwrittenAlerts> logger) : IDisposable
{
    /// <summary>Fault of a registry that takes nothing.</summary>
    public const string Fault = "registry.write";

    /// <summary>Longer than any push service is waited for, by the time of the machine; what takes longer hangs.</summary>
    private static readonly TimeSpan LongestTelling = PushSender.Patience + TimeSpan.FromSeconds(2);

    private readonly ConcurrentQueue<UnwrittenChange> _changes = [];
    private readonly Lock _telling = new();
    private readonly SemaphoreSlim _oneWrites = new(1);

    /// <summary>Keeps a change, and begins to tell it.</summary>
    /// <returns>The change, for whoever hears later that the registry has taken it after all.</returns>
    public UnwrittenChange Add(Spot spot, AlertMemory memory, AlertDecision decision, Exception? failure)
    {
        var change = new UnwrittenChange(spot, memory, decision);
        if (decision.Notify)
        {
            // Of one spot and side only the newest counts: nothing older is sent from here on, be it here or in the registry.
            foreach (var older in ToTell(spot.Id).Where(c => c.Decision.Side == decision.Side))
                older.IsOvertaken = true;
            outbox.HoldBack(spot.Id);
        }

        if (failure is not null)
            logger.ChangeUnwritten(spot.Id.Value, failure.GetBaseException().Message);
        faults.Raise(Fault, "registry: it takes nothing, look at the disk of the data folder; warnings are judged and sent from memory, and are written when it takes them");
        lock (_telling)
        {
            _changes.Enqueue(change);
            Tell_NeedsLock(change, memory: null);
        }

        return change;
    }

    /// <summary>Begins to tell what is not told yet, and who comes to what stands.</summary>
    /// <param name="memoryOf">What is remembered of a spot now; <c>null</c> where it is not watched.</param>
    public void TellAgain(Func<SpotId, AlertMemory?> memoryOf)
    {
        lock (_telling)
        {
            foreach (var newest in _changes.Where(c => !c.IsOvertaken))
                Tell_NeedsLock(newest, memoryOf(newest.Spot.Id));
        }
    }

    /// <summary>Writes all, the oldest first.</summary>
    /// <returns>Whether nothing is left.</returns>
    public async Task<bool> WriteAsync(CancellationToken cancellationToken)
    {
        await _oneWrites.WaitAsync(cancellationToken);
        try
        {
            return await WriteAllAsync(cancellationToken);
        }
        finally
        {
            _oneWrites.Release();
        }
    }

    public void Dispose() => _oneWrites.Dispose();

    private async Task<bool> WriteAllAsync(CancellationToken cancellationToken)
    {
        var written = 0;
        while (_changes.TryPeek(out var change))
        {
            // Who is being told just now is known in a moment.
            var tellings = change.Tellings;
            if (change.IsBeingTold)
                return false;
            try
            {
                await WriteAsync(change, cancellationToken);
                written++;
            }
            catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
            {
                return false;
            }
            catch (Exception failure) when (!cancellationToken.IsCancellationRequested)
            {
                logger.ChangeUnwritable(change.Spot.Id.Value, failure);
                // What comes after it is told from memory meanwhile, too.
                if (IsToBeTold(change))
                    return false;
            }

            lock (_telling)
            {
                // Told again while it was written: what became of that is written as well.
                if (change.Tellings != tellings)
                    continue;
                _changes.TryDequeue(out _);
            }

            if (!ToTell(change.Spot.Id).Any())
                outbox.LetGo(change.Spot.Id);
        }

        if (written > 0)
        {
            logger.UnwrittenWritten(written);
            outbox.Call();
        }

        faults.End(Fault);
        return true;
    }

    /// <summary>The clock leapt ahead: a warning is as much news as it was.</summary>
    public void ClockLeaptAhead(TimeSpan by)
    {
        foreach (var change in _changes.Where(c => c.Decision.IsWarning))
        {
            change.Decision = change.Decision with { At = change.Decision.At + by };
            foreach (var message in change.Messages ?? [])
                message.CreatedAt += by;
        }
    }

    private IEnumerable<UnwrittenChange> ToTell(SpotId spot) => _changes.Where(c => c.Spot.Id == spot && c.Decision.Notify);

    private async Task WriteAsync(UnwrittenChange change, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // The spot may have been removed meanwhile.
        if (!await db.Spots.AnyAsync(s => s.Id == change.Spot.Id.Value && s.RemovedAt == null, cancellationToken))
            return;
        await AlertStore.PutAsync(db, [(change.Spot.Id, change.Memory)], time.GetUtcNow(), cancellationToken);
        var row = change.WrittenAs is { } id ? await db.AlertEvents.SingleAsync(e => e.Id == id, cancellationToken) : null;
        if (row is null)
            await PutAsync(db, change, row = AlertEventRow.Of(change.Spot.Id, change.Decision), cancellationToken);
        else
            await SettleAsync(db, change, row.Id, cancellationToken);
        if (change.ToldToBusiness.Count > 0 && row.Unseen != UnseenStanding.Unseen)
            unseen.Put(db, row, NoticeOf(change, row.Id), change.ToldToBusiness);
        await PutLaterAsync(db, change, row.Id, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        change.WrittenAs = row.Id;
    }

    private static async Task PutLaterAsync(RegistryDb db, UnwrittenChange change, int eventId, CancellationToken cancellationToken)
    {
        if (change.Later.Count == 0)
            return;
        var known = await db.ConcernedWalkers.Where(c => c.EventId == eventId).ToDictionaryAsync(c => c.PersonId, cancellationToken);
        foreach (var walker in change.Later)
        {
            var isToldOf = walker.ToldToBusiness.Count > 0;
            if (!known.TryGetValue(walker.PersonId, out var row))
                db.ConcernedWalkers.Add(new ConcernedWalkerRow { EventId = eventId, PersonId = walker.PersonId, Since = walker.Since, Unseen = isToldOf ? UnseenStanding.Unseen : UnseenStanding.Watched });
            else if (isToldOf && row.Unseen == UnseenStanding.Watched)
                row.Unseen = UnseenStanding.Unseen;
        }
    }

    /// <summary>The registry took it after all, with messages as if nobody had been told: what devices were told from memory takes the place of those.</summary>
    private async Task SettleAsync(RegistryDb db, UnwrittenChange change, int eventId, CancellationToken cancellationToken)
    {
        if (change.Messages is not { Count: > 0 } messages)
            return;
        var devices = messages.Select(message => message.Device.Id).ToList();
        await db.Notifications.Where(n => n.EventId == eventId && devices.Contains(n.SubscriptionId)).ExecuteDeleteAsync(cancellationToken);
        db.Notifications.AddRange(messages.Select(message => message.Row(news, eventId)));
    }

    private async Task PutAsync(RegistryDb db, UnwrittenChange change, AlertEventRow row, CancellationToken cancellationToken)
    {
        db.AlertEvents.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        if (change.Messages is { } messages)
        {
            row.Walkers = change.Walkers.Count;
            db.Notifications.AddRange(messages.Select(message => message.Row(news, row.Id)));
            AlertNotifications.PutConcerned(db, change.Decision, row.Id, change.Walkers, change.Decision.At);
        }
        else if (change.Decision.Notify && news.Matters(change.Decision))
        {
            row.Walkers = (await news.PutAsync(db, [(change.Spot, change.Decision, row.Id, time.GetUtcNow())], cancellationToken))[0].Walkers;
        }
        else if (change.Decision.Notify)
        {
            // Too old for a phone, it is something for the business all the more.
            var walkers = (await news.FindAsync(db, [(change.Spot, change.Decision, time.GetUtcNow())], cancellationToken))[0].Walkers;
            row.Walkers = walkers.Count;
            AlertNotifications.PutConcerned(db, change.Decision, row.Id, walkers, change.Decision.At);
        }

        row.Unseen = change.Decision is { Notify: true, IsWarning: true } && row.Walkers > 0 ? UnseenStanding.Watched : UnseenStanding.None;
    }

    /// <summary>Whether somebody has yet to hear of it, and may.</summary>
    private bool IsToBeTold(UnwrittenChange change) =>
        change is { Decision.Notify: true, IsOvertaken: false, WasTold: false, ConcernsNobody: false, ToldToBusiness.Count: 0 } && news.Matters(change.Decision);

    // Not awaited: a slow push service must not hold up the watch.
    private void Tell_NeedsLock(UnwrittenChange change, AlertMemory? memory)
    {
        if (!change.Decision.Notify)
            return;
        change.Tellings++;
        if (change.Telling.IsCompleted)
            change.Telling = Task.Run(() => TellAsync(change, memory));
        var telling = change.Telling;
        if (change.TellingBusiness.IsCompleted && change.Decision.IsWarning)
            change.TellingBusiness = Task.Run(() => TellBusinessAsync(change, telling));
    }

    /// <summary>Tells the business of who is not told in time. It hears so even where nobody can be looked for, as the registry hangs.</summary>
    private async Task TellBusinessAsync(UnwrittenChange change, Task telling)
    {
        await telling.WaitAsync(LongestTelling, TimeProvider.System).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        // What is written is watched from there, once this has left the list.
        if (change.WrittenAs is not null)
            return;
        if (change is { WasTold: false, ConcernsNobody: false } && unseen.IsLate(change.Decision.At))
            await unseen.TellAsync(change.Id, NoticeOf(change, 0), change.ToldToBusiness);
        foreach (var walker in change.Later.Where(w => unseen.IsLate(w.Since) && !change.WasToldTo(w.PersonId)))
        {
            var phones = change.Messages?.Count(m => m.Device.PersonId == walker.PersonId) ?? 0;
            await unseen.TellAsync(walker.Id, unseen.NoticeOf(0, change.Spot.Id, change.Decision, 1, phones, sent: 0, cameLater: true), walker.ToldToBusiness);
        }
    }

    private UnseenWarningNotice NoticeOf(UnwrittenChange change, int eventId) => unseen.NoticeOf(
        eventId, change.Spot.Id, change.Decision, change.Walkers.Count, change.Messages?.Count ?? 0, sent: 0);

    private async Task TellAsync(UnwrittenChange change, AlertMemory? memory)
    {
        try
        {
            // Who is known first, whatever the registry answers.
            var tried = await SendAsync(change, Due(change));
            if (change.Looking.IsCompleted)
                change.Looking = Task.Run(() => LookAsync(change, memory));
            await change.Looking.WaitAsync(LongestTelling, TimeProvider.System);
            await SendAsync(change, [.. Due(change).Except(tried)]);
        }
        catch (Exception failure)
        {
            // The edge of a task nobody awaits.
            logger.NotToldUnwritten(change.Spot.Id.Value, failure);
        }
    }

    private List<UnwrittenMessage> Due(UnwrittenChange change) =>
        [.. (change.Messages ?? []).Where(m => !m.IsSettled && time.GetUtcNow() < news.ExpiryOf(m.CreatedAt))];

    private async Task<IReadOnlyList<UnwrittenMessage>> SendAsync(UnwrittenChange change, List<UnwrittenMessage> messages)
    {
        await Task.WhenAll(messages.Select(message => SendAsync(change, message)));
        if (messages.Count > 0)
            logger.ToldUnwritten(change.Spot.Id.Value, messages.Count(m => m.Outcome is SendOutcome.Taken), messages.Count);
        return messages;
    }

    /// <summary>Looks for who is to be told: once of what is news, and then each time of what stands, for somebody may come to it.</summary>
    private async Task LookAsync(UnwrittenChange change, AlertMemory? memory)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync();
        if (change.Messages is null && news.Matters(change.Decision))
        {
            var (messages, walkers) = (await news.FindAsync(db, [(change.Spot, change.Decision, now)], CancellationToken.None))[0];
            (change.Walkers, change.Messages) = (walkers, [.. messages.Select(m => new UnwrittenMessage(m.Device, m.Body, now))]);
        }
        else if (change.Decision.IsWarning && memory is not null
            && await standing.FindAsync(db, change.Spot, memory, change.Decision, CancellationToken.None) is var (messages, walkers))
        {
            if (change.Messages is null)
                change.Walkers = walkers;
            var told = (change.Messages ?? []).Select(m => m.Device.Id).ToHashSet();
            var known = change.Walkers.Concat(change.Later.Select(w => w.PersonId)).ToHashSet();
            // Who they are before what they are told, for what they are told says nothing of those before.
            change.Later = [.. change.Later, .. walkers.Where(walker => !known.Contains(walker)).Select(walker => new UnwrittenWalker(walker, now))];
            change.Messages = [.. change.Messages ?? [], .. messages.Where(m => !told.Contains(m.Device.Id)).Select(m => new UnwrittenMessage(m.Device, m.Body, now))];
        }
    }

    private async Task SendAsync(UnwrittenChange change, UnwrittenMessage message)
    {
        using var turn = await turns.TakeAsync(message.Device.Id);
        // Newer news of the spot may have come while this waited.
        if (!change.IsOvertaken)
            message.Outcome = await sender.SendAsync(message.Device, message.Body, news.ExpiryOf(message.CreatedAt), CancellationToken.None);
    }
}
