using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Notifications;

/// <summary>Sends what waits in the outbox, again with growing pauses, until it is taken, too old, overtaken or refused.</summary>
/// <remarks>The outbox is a table, so what was decided before a crash is sent after it. Sending twice is possible, losing is not.</remarks>
internal sealed class NotificationOutbox(
    IDbContextFactory<RegistryDb> registry,
    PushSender sender,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<NotificationOutbox> logger) : BackgroundService
{
    private const int AtOnce = 8;
    private const int PerPass = 256;
    private const int ForbiddenUntilDead = 3;
    private static readonly TimeSpan LongestSleep = TimeSpan.FromMinutes(1);

    private readonly Wake _wake = new();

    /// <summary>Says that something new waits.</summary>
    public void Call() => _wake.Call();

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (!stoppingToken.IsCancellationRequested)
        {
            var sleep = LongestSleep;
            try
            {
                sleep = await PassAsync(stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                break;
            }
            catch (Exception e)
            {
                // The loop's edge: whatever it was, alerts must go on.
                logger.PassFailed(e);
            }

            if (sleep > TimeSpan.Zero)
                await _wake.WaitAsync(sleep, time, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    /// <summary>Sends what is due.</summary>
    /// <returns>How long nothing more will be due.</returns>
    public async Task<TimeSpan> PassAsync(CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var waiting = await db.Notifications.Where(n => n.Standing == NotificationStanding.Waiting)
            .OrderBy(n => n.NextAttemptAt).ThenBy(n => n.CreatedAt).Take(PerPass).ToListAsync(cancellationToken);
        SetAside(waiting, now);
        var due = waiting.Where(n => n.Standing == NotificationStanding.Waiting && n.NextAttemptAt <= now).ToList();
        var devices = await db.PushSubscriptions
            .Where(s => due.Select(n => n.SubscriptionId).Contains(s.Id)).ToDictionaryAsync(s => s.Id, cancellationToken);
        var outcomes = new Dictionary<Guid, SendOutcome>();
        try
        {
            await Parallel.ForEachAsync(
                due,
                new ParallelOptions { MaxDegreeOfParallelism = AtOnce, CancellationToken = cancellationToken },
                async (n, token) =>
                {
                    var outcome = devices.TryGetValue(n.SubscriptionId, out var device)
                        ? await sender.SendAsync(device, n, token)
                        : new SendOutcome.Refused("the device was forgotten before");
                    lock (outcomes)
                        outcomes[n.Id] = outcome;
                });
        }
        finally
        {
            // Also when the server stops half-way: what was sent must not be sent again after it.
            foreach (var notification in due.Where(n => outcomes.ContainsKey(n.Id)))
                Record(db, notification, devices.GetValueOrDefault(notification.SubscriptionId), outcomes[notification.Id]);
            await db.SaveChangesAsync(CancellationToken.None);
        }

        var next = waiting.Where(n => n.Standing == NotificationStanding.Waiting).Select(n => n.NextAttemptAt)
            .DefaultIfEmpty(DateTimeOffset.MaxValue).Min();
        var pause = waiting.Count == PerPass && due.Count > 0 ? TimeSpan.Zero : next - time.GetUtcNow();
        return pause < LongestSleep ? pause : LongestSleep;
    }

    // What is too old is no news; of one spot and device only the newest counts, as Topic does at the push service.
    private static void SetAside(List<NotificationRow> waiting, DateTimeOffset now)
    {
        foreach (var old in waiting.Where(n => n.ExpiresAt <= now))
            old.Standing = NotificationStanding.Expired;
        foreach (var same in waiting.GroupBy(n => (n.SubscriptionId, n.SpotId)))
        {
            var newest = same.Max(n => n.EventId);
            foreach (var overtaken in same.Where(n => n.EventId < newest && n.Standing == NotificationStanding.Waiting))
                overtaken.Standing = NotificationStanding.Overtaken;
        }
    }

    private void Record(RegistryDb db, NotificationRow notification, PushSubscriptionRow? device, SendOutcome outcome)
    {
        var now = time.GetUtcNow();
        notification.Attempts++;
        switch (outcome)
        {
            case SendOutcome.Taken:
                notification.Standing = NotificationStanding.Sent;
                notification.SentAt = now;
                notification.Trouble = "";
                device!.ForbiddenInARow = 0;
                break;
            case SendOutcome.TryLater later:
                notification.Trouble = later.Detail;
                notification.NextAttemptAt = now + options.Value.Pause(notification.Attempts, later.After);
                logger.WillTryAgain(notification.Id, notification.SpotId, later.Detail, notification.NextAttemptAt);
                break;
            case SendOutcome.Gone gone:
                Fail(notification, gone.Detail);
                Forget(db, device!);
                break;
            case SendOutcome.Forbidden forbidden:
                Fail(notification, forbidden.Detail);
                if (++device!.ForbiddenInARow >= ForbiddenUntilDead)
                    Forget(db, device);
                break;
            case SendOutcome.Refused refused:
                Fail(notification, refused.Detail);
                break;
        }
    }

    private void Fail(NotificationRow notification, string detail)
    {
        notification.Standing = NotificationStanding.Failed;
        notification.Trouble = detail;
        logger.NotSent(notification.Id, notification.SpotId, detail);
    }

    private void Forget(RegistryDb db, PushSubscriptionRow device)
    {
        if (db.Entry(device).State == EntityState.Deleted)
            return;
        db.PushSubscriptions.Remove(device);
        logger.DeviceForgotten(device.Id, device.PersonId);
    }
}
