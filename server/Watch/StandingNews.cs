using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Watch;

/// <summary>Tells walkers once what stands at a spot that becomes theirs: by a walk that comes near, by following it, by where they are.</summary>
/// <remarks>
/// Who was told is the outbox itself: it has one message of each change to each device, and keeps it over restarts. A message that
/// was too old before a push service took it, or before its device said that it showed it, is sent again under its own name, with what stands
/// now, once in the time that it is news. Heat and cold stand each for itself. Who comes
/// later, with a device or without, is watched for by themselves (<see cref="UnseenWarnings"/>): that others were shown the warning helps them nothing.
/// </remarks>
internal sealed class StandingNews(
    IDbContextFactory<RegistryDb> registry, DevicesNear near, AlertNotifications news, NotificationOutbox outbox, SpotBoard board,
    IOptions<WatchOptions> options, TimeProvider time)
{
    private static readonly AlertSide[] Sides = [AlertSide.Heat, AlertSide.Cold];

    /// <summary>Looks at all spots.</summary>
    public async Task TellAsync(IEnumerable<SpotWatch> watches, CancellationToken cancellationToken)
    {
        var standing = watches.Where(w => w is { IsLoaded: true, IsGone: false }).Select(w => (w.Spot, w.Memory))
            .SelectMany(w => Sides.Select(side => Find(w.Spot, side, w.Memory))).OfType<Standing>().ToList();
        if (standing.Count == 0)
            return;
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var found = await near.FindAsync(db, [.. standing.Select(s => (s.Spot, now))], cancellationToken);
        var theirs = standing.Zip(found, (spot, by) => (Spot: spot, by.Devices, by.Walkers)).Where(t => t.Walkers.Count > 0).ToList();
        if (theirs.Count == 0)
            return;

        var told = await LastToldAsync(db, [.. theirs.Select(t => t.Spot.Spot.Id.Value).Distinct()], cancellationToken);
        var changes = told.Values.Select(e => e.Id).ToList();
        var messages = (await db.Notifications.AsNoTracking().Where(n => changes.Contains(n.EventId)).Select(n => new { n.Id, n.EventId, n.SubscriptionId, n.Standing, n.SentAt })
            .ToListAsync(cancellationToken)).ToDictionary(n => (n.EventId, n.SubscriptionId));
        var concerned = (await db.ConcernedWalkers.AsNoTracking().Where(c => changes.Contains(c.EventId)).Select(c => new { c.EventId, c.PersonId })
            .ToListAsync(cancellationToken)).Select(c => (c.EventId, c.PersonId)).ToHashSet();
        var repeatable = await LapsedMessages.RepeatableAsync(db, changes, now, cancellationToken);
        var untold = new List<(Standing Spot, PushSubscriptionRow Device, AlertEventRow Change, Guid? Message, bool WasSent)>();
        var later = new List<ConcernedWalkerRow>();
        foreach (var (spot, devices, walkers) in theirs)
        {
            // What walkers were told last of the spot and side; after an all-clear nothing stands until it is told.
            if (!told.TryGetValue((spot.Spot.Id.Value, spot.Alert.Side), out var change))
                continue;
            later.AddRange(walkers.Where(walker => !concerned.Contains((change.Id, walker)))
                .Select(walker => new ConcernedWalkerRow { EventId = change.Id, PersonId = walker, Since = now, Unseen = UnseenStanding.Watched }));
            foreach (var device in devices)
            {
                var message = messages.GetValueOrDefault((change.Id, device.Id));
                if (StandingAlerts.IsNews(spot.Alert.Warning, message is null ? ToldMessage.None : FateOf(message.Standing, repeatable.Contains(message.Id))))
                    untold.Add((spot, device, change, message?.Id, message?.SentAt is not null));
            }
        }

        // Mostly nobody is left to be told.
        if (untold.Count == 0 && later.Count == 0)
            return;
        var units = await ReadersUnits.FindAsync(db, untold.Select(u => u.Device.PersonId), cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        foreach (var (spot, device, change, message, wasSent) in untold)
        {
            var body = Body(spot, change.At, units.GetValueOrDefault(device.PersonId), now);
            if (message is { } known)
                await RepeatAsync(db, body with { Id = known, IsRepeat = wasSent }, now, cancellationToken);
            else
                db.Notifications.Add(news.Row(device, body, change.Id, now));
        }

        db.ConcernedWalkers.AddRange(later);
        await db.SaveChangesAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        outbox.Call();
    }

    /// <summary>Whom a warning that stands concerns now, with what each device of theirs is told; <c>null</c> where nothing stands. For what is told from memory.</summary>
    public async Task<(IReadOnlyList<(PushSubscriptionRow Device, PushMessageBody Body)> Messages, IReadOnlyCollection<int> Walkers)?> FindAsync(
        RegistryDb db, Spot spot, AlertMemory memory, AlertDecision told, CancellationToken cancellationToken)
    {
        if (Find(spot, told.Side, memory) is not { } standing)
            return null;
        var now = time.GetUtcNow();
        var (devices, walkers) = (await near.FindAsync(db, [(spot, now)], cancellationToken))[0];
        var units = await ReadersUnits.FindAsync(db, devices.Select(d => d.PersonId), cancellationToken);
        return ([.. devices.Select(d => (d, Body(standing, told.At, units.GetValueOrDefault(d.PersonId), now)))], walkers);
    }

    /// <summary>Of each spot and side the last change that walkers were told, where it is a warning.</summary>
    private static async Task<Dictionary<(string Spot, AlertSide Side), AlertEventRow>> LastToldAsync(
        RegistryDb db, List<string> spots, CancellationToken cancellationToken)
    {
        var newest = await db.AlertEvents.Where(e => e.Notified && spots.Contains(e.SpotId)).NewestIds().ToListAsync(cancellationToken);
        return (await db.AlertEvents.AsNoTracking().Where(e => newest.Contains(e.Id)).ToListAsync(cancellationToken))
            .Where(e => AlertDecision.Warns(e.Because))
            .ToDictionary(e => (e.SpotId, e.Side));
    }

    /// <summary>Under the same name: a receipt that was on its way counts, and a device that has shown it knows it.</summary>
    private Task<int> RepeatAsync(RegistryDb db, PushMessageBody body, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var (payload, expires) = (body.ToJson(), news.ExpiryOf(now));
        return db.Notifications
            .Where(n => n.Id == body.Id && n.ShownAt == null && (n.Standing == NotificationStanding.Expired || n.Standing == NotificationStanding.Sent))
            .ExecuteUpdateAsync(
                set => set.SetProperty(n => n.Payload, payload).SetProperty(n => n.IsRepeat, body.IsRepeat)
                    .SetProperty(n => n.CreatedAt, now).SetProperty(n => n.ExpiresAt, expires).SetProperty(n => n.NextAttemptAt, now)
                    .SetProperty(n => n.Attempts, 0).SetProperty(n => n.Standing, NotificationStanding.Waiting).SetProperty(n => n.LastFault, ""),
                cancellationToken);
    }

    private static ToldMessage FateOf(NotificationStanding standing, bool isRepeatable) => standing switch
    {
        NotificationStanding.Waiting => ToldMessage.Waiting,
        NotificationStanding.Sent => isRepeatable ? ToldMessage.Unshown : ToldMessage.Sent,
        NotificationStanding.Expired => ToldMessage.Expired,
        _ => ToldMessage.Ended,
    };

    private Standing? Find(Spot spot, AlertSide side, AlertMemory memory)
    {
        // At most spots nothing stands: these are not looked up on the board.
        if (StandingAlerts.Of(memory, side) == StandingWarning.None)
            return null;
        var (shown, isCold) = (board.Find(spot.Id), side == AlertSide.Cold);
        var alert = StandingAlerts.Find(
            memory, side, isCold ? options.Value.ColdLimitOf(spot) : spot.LimitCelsius,
            shown is { Estimated: false } ? shown.SurfaceCelsius : null,
            shown is { Estimated: true } ? isCold ? shown.LowerCelsius : shown.UpperCelsius : null);
        return alert is null ? null : new Standing(spot, alert, isCold ? memory.Cold!.State : memory.State);
    }

    private static PushMessageBody Body(Standing standing, DateTimeOffset since, TemperatureUnit unit, DateTimeOffset now)
    {
        // Since it was told: easing goes on from what was told.
        var (spot, alert, side) = (standing.Spot, standing.Alert with { Since = since }, standing.Alert.Side);
        return new PushMessageBody(
            Guid.CreateVersion7(now), spot.Id.Value, StandingTexts.Title(spot.Name, alert), StandingTexts.What(alert),
            StandingTexts.Body(alert, now, spot.TimeZoneId, unit), side, PushMessageBody.StateOf(standing.State, side), now,
            $"/spots/{spot.Id}", PushMessageBody.TagOf(spot));
    }

    private sealed record Standing(Spot Spot, StandingAlert Alert, AlertState State);
}
