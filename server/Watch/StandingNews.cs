using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Watch;

/// <summary>Tells walkers once what stands at a spot that becomes theirs: by a walk that comes near, by following it, by where they are.</summary>
/// <remarks>
/// Who was told is the outbox itself: it has one message of each change to each device, and keeps it over restarts. A message that
/// was too old before a push service took it gives way to one of what stands now.
/// </remarks>
internal sealed class StandingNews(
    IDbContextFactory<RegistryDb> registry, DevicesNear near, AlertNotifications news, NotificationOutbox outbox, SpotBoard board, TimeProvider time)
{
    /// <summary>Looks at all spots.</summary>
    public async Task TellAsync(IEnumerable<SpotWatch> watches, CancellationToken cancellationToken)
    {
        var standing = watches.Where(w => w is { IsLoaded: true, IsGone: false })
            .Select(w => new Standing(w.Spot, w.Memory.State, StandingAlerts.Of(w.Memory))).Where(s => s.Warning != StandingWarning.None).ToList();
        if (standing.Count == 0)
            return;
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var found = await near.FindAsync(db, [.. standing.Select(s => (s.Spot, now))], cancellationToken);
        var theirs = standing.Zip(found, (spot, by) => (Spot: spot, by.Devices)).Where(t => t.Devices.Count > 0).ToList();
        if (theirs.Count == 0)
            return;

        var told = await LastToldAsync(db, [.. theirs.Select(t => t.Spot.Spot.Id.Value)], cancellationToken);
        var changes = told.Values.Select(e => e.Id).ToList();
        var messages = (await db.Notifications.AsNoTracking().Where(n => changes.Contains(n.EventId)).Select(n => new { n.Id, n.EventId, n.SubscriptionId, n.Standing })
            .ToListAsync(cancellationToken)).ToDictionary(n => (n.EventId, n.SubscriptionId));
        var expired = new List<Guid>();
        var rows = new List<NotificationRow>();
        foreach (var (spot, devices) in theirs)
        {
            // What walkers were told last of the spot; after an all-clear nothing stands until it is told.
            if (!told.TryGetValue(spot.Spot.Id.Value, out var change))
                continue;
            foreach (var device in devices)
            {
                var message = messages.GetValueOrDefault((change.Id, device.Id));
                if (!StandingAlerts.IsNews(spot.Warning, FateOf(message?.Standing)))
                    continue;
                if (message is not null)
                    expired.Add(message.Id);
                rows.Add(news.Row(device, Body(spot, change.At, now), change.Id, now));
            }
        }

        if (rows.Count == 0)
            return;
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        await db.Notifications.Where(n => expired.Contains(n.Id) && n.Standing == NotificationStanding.Expired).ExecuteDeleteAsync(cancellationToken);
        db.Notifications.AddRange(rows);
        await db.SaveChangesAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        outbox.Call();
    }

    /// <summary>Of each spot the last change that walkers were told, where it is a warning.</summary>
    private static async Task<Dictionary<string, AlertEventRow>> LastToldAsync(RegistryDb db, List<string> spots, CancellationToken cancellationToken)
    {
        var newest = await db.AlertEvents.Where(e => e.Notified && spots.Contains(e.SpotId))
            .GroupBy(e => e.SpotId).Select(g => g.Max(e => e.Id)).ToListAsync(cancellationToken);
        return (await db.AlertEvents.AsNoTracking().Where(e => newest.Contains(e.Id)).ToListAsync(cancellationToken))
            .Where(e => Enum.TryParse<AlertReason>(e.Because, out var because) && AlertDecision.Warns(because))
            .ToDictionary(e => e.SpotId);
    }

    private static ToldMessage FateOf(NotificationStanding? standing) => standing switch
    {
        null => ToldMessage.None,
        NotificationStanding.Waiting => ToldMessage.Waiting,
        NotificationStanding.Sent => ToldMessage.Sent,
        NotificationStanding.Expired => ToldMessage.Expired,
        _ => ToldMessage.Ended,
    };

    private PushMessageBody Body(Standing standing, DateTimeOffset since, DateTimeOffset now)
    {
        var (spot, state, warning) = standing;
        var shown = board.Find(spot.Id);
        return new PushMessageBody(
            Guid.CreateVersion7(now), spot.Id.Value, StandingTexts.Title(spot.Name, warning),
            StandingTexts.Body(
                warning, since, spot.TimeZoneId, shown is { Estimated: false } ? shown.SurfaceCelsius : null,
                shown is { Estimated: true } ? shown.UpperCelsius : null, spot.LimitCelsius),
            state, now, $"/spots/{spot.Id}", $"spot-{spot.Id}");
    }

    private sealed record Standing(Spot Spot, AlertState State, StandingWarning Warning);
}
