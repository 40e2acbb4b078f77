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
/// Used by one at a time, as <see cref="AlertStore"/> is. A restart before they are written forgets them; the next reading decides again. Each is
/// written together with what the machine remembered then, so that a restart after that knows what was told.
/// </remarks>
internal sealed class UnwrittenAlerts(
    IDbContextFactory<RegistryDb> registry,
    AlertNotifications news,
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

    private readonly ConcurrentQueue<UnwrittenChange> _changes = [];
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

        _changes.Enqueue(change);
        if (failure is not null)
            logger.ChangeUnwritten(spot.Id.Value, failure.GetBaseException().Message);
        faults.Raise(Fault, "registry: it takes nothing, look at the disk of the data folder; warnings are judged and sent from memory, and are written when it takes them");
        Tell(change);
        return change;
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
            if (!change.Telling.IsCompleted)
                return false;
            try
            {
                await WriteAsync(change, cancellationToken);
            }
            catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
            {
                foreach (var newest in _changes.Where(c => c is { IsOvertaken: false, Telling.IsCompleted: true }))
                    Tell(newest);
                return false;
            }

            _changes.TryDequeue(out _);
            if (!ToTell(change.Spot.Id).Any())
                outbox.LetGo(change.Spot.Id);
            written++;
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
        if (change.ToldToBusiness.Count > 0)
            unseen.Put(db, row, NoticeOf(change, row.Id), change.ToldToBusiness);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
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

    // Not awaited: a slow push service must not hold up the watch.
    private void Tell(UnwrittenChange change)
    {
        if (change.Decision.Notify)
        {
            change.Telling = Task.Run(async () =>
            {
                if (news.Matters(change.Decision) && change.Messages?.All(m => m.IsSettled) != true)
                    await TellAsync(change);
                if (change is { Decision.IsWarning: true, WasTold: false, ConcernsNobody: false } && unseen.IsLate(change.Decision.At))
                    await unseen.TellAsync(change.Id, NoticeOf(change, 0), change.ToldToBusiness);
            });
        }
    }

    private UnseenWarningNotice NoticeOf(UnwrittenChange change, int eventId) => unseen.NoticeOf(
        eventId, change.Spot.Id, change.Decision, change.Walkers.Count, change.Messages?.Count ?? 0, sent: 0);

    private async Task TellAsync(UnwrittenChange change)
    {
        try
        {
            if (change.Messages is null)
            {
                await using var db = await registry.CreateDbContextAsync();
                var (messages, walkers) = (await news.FindAsync(db, [(change.Spot, change.Decision, time.GetUtcNow())], CancellationToken.None))[0];
                (change.Messages, change.Walkers) = ([.. messages.Select(m => new UnwrittenMessage(m.Device, m.Body, time.GetUtcNow()))], walkers);
            }

            await Task.WhenAll(change.Messages.Where(m => !m.IsSettled).Select(message => SendAsync(change, message)));
            logger.ToldUnwritten(change.Spot.Id.Value, change.Messages.Count(m => m.Outcome is SendOutcome.Taken), change.Messages.Count);
        }
        catch (Exception failure)
        {
            // The edge of a task nobody awaits.
            logger.NotToldUnwritten(change.Spot.Id.Value, failure);
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
