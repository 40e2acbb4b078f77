using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>
/// Changes that the registry did not take, as on a full disk: ground does not wait for a disk, so devices are told from memory,
/// and the changes are written, in their order, as soon as the registry takes them.
/// </summary>
/// <remarks>Used by one at a time, as the watch is. A restart before they are written forgets them; the next reading decides again.</remarks>
internal sealed class UnwrittenAlerts(
    IDbContextFactory<RegistryDb> registry,
    AlertNews news,
    PushSender sender,
    NotificationOutbox outbox,
    ServiceFaults faults,
    TimeProvider time,
    ILogger<UnwrittenAlerts> logger)
{
    /// <summary>Fault of a registry that takes nothing.</summary>
    public const string Fault = "registry.write";

    private readonly Queue<Change> _changes = [];

    /// <summary>Keeps a change, and begins to tell it.</summary>
    public void Add(Spot spot, AlertDecision decision, Exception? failure)
    {
        var change = new Change(spot, decision);
        _changes.Enqueue(change);
        if (failure is not null)
            logger.ChangeUnwritten(spot.Id.Value, failure.GetBaseException().Message);
        faults.Raise(Fault, "registry: it takes nothing, look at the disk of the data folder; warnings are judged and sent from memory, and are written when it takes them");
        Tell(change);
    }

    /// <summary>Writes all, the oldest first.</summary>
    /// <returns>Whether nothing is left.</returns>
    public async Task<bool> WriteAsync(CancellationToken cancellationToken)
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
            catch (Exception failure) when (SqliteFaults.TakesNothing(failure))
            {
                foreach (var newest in _changes.Where(c => c.Decision.Notify).GroupBy(c => c.Spot.Id).Select(same => same.Last()).Where(c => c.Telling.IsCompleted))
                    Tell(newest);
                return false;
            }

            _changes.Dequeue();
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

    private async Task WriteAsync(Change change, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // The spot may have been removed meanwhile.
        if (!await db.Spots.AnyAsync(s => s.Id == change.Spot.Id.Value && s.RemovedAt == null, cancellationToken))
            return;
        var row = AlertBook.EventOf(change.Spot, change.Decision);
        db.AlertEvents.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        if (change.Messages is { } messages)
        {
            row.Walkers = change.Walkers;
            db.Notifications.AddRange(messages.Select(message => message.Row(news, row.Id)));
        }
        else if (change.Decision.Notify && news.Matters(change.Decision))
        {
            (_, row.Walkers) = await news.PutAsync(db, change.Spot, change.Decision, row.Id, cancellationToken);
        }

        row.Unseen = change.Decision is { Notify: true, IsWarning: true } && row.Walkers > 0 ? UnseenStanding.Watched : UnseenStanding.None;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
    }

    // Not awaited: a slow push service must not hold up the watch.
    private void Tell(Change change)
    {
        if (change.Decision.Notify && news.Matters(change.Decision) && change.Messages?.All(m => m.IsSettled) != true)
            change.Telling = Task.Run(() => TellAsync(change));
    }

    private async Task TellAsync(Change change)
    {
        try
        {
            if (change.Messages is null)
            {
                await using var db = await registry.CreateDbContextAsync();
                var (messages, walkers) = await news.FindAsync(db, change.Spot, change.Decision, CancellationToken.None);
                (change.Messages, change.Walkers) = ([.. messages.Select(m => new Message(m.Device, m.Body, time.GetUtcNow()))], walkers);
            }

            await Task.WhenAll(change.Messages.Where(m => !m.IsSettled).Select(async message =>
                message.Outcome = await sender.SendAsync(message.Device, message.Row(news, 0), CancellationToken.None)));
            logger.ToldUnwritten(change.Spot.Id.Value, change.Messages.Count(m => m.Outcome is SendOutcome.Taken), change.Messages.Count);
        }
        catch (Exception failure)
        {
            // The edge of a task nobody awaits.
            logger.NotToldUnwritten(change.Spot.Id.Value, failure);
        }
    }

    private sealed class Change(Spot spot, AlertDecision decision)
    {
        public Spot Spot { get; } = spot;

        public AlertDecision Decision { get; } = decision;

        public Task Telling { get; set; } = Task.CompletedTask;

        /// <summary>What devices are told; <c>null</c> until it is known which.</summary>
        public IReadOnlyList<Message>? Messages { get; set; }

        public int Walkers { get; set; }
    }

    private sealed class Message(PushSubscriptionRow device, PushMessageBody body, DateTimeOffset createdAt)
    {
        public PushSubscriptionRow Device { get; } = device;

        public SendOutcome? Outcome { get; set; }

        /// <summary>Whether sending it again would change nothing.</summary>
        public bool IsSettled => Outcome is not (null or SendOutcome.TryLater);

        public NotificationRow Row(AlertNews news, int eventId)
        {
            var row = news.Row(Device, body, eventId, createdAt);
            (row.Standing, row.Attempts) = Outcome switch
            {
                SendOutcome.Taken => (NotificationStanding.Sent, 1),
                SendOutcome.Gone or SendOutcome.Forbidden or SendOutcome.Refused => (NotificationStanding.Failed, 1),
                _ => (NotificationStanding.Waiting, 0),
            };
            if (row.Standing == NotificationStanding.Sent)
                row.SentAt = row.CreatedAt;
            return row;
        }
    }
}
