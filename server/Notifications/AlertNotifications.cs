using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications;

/// <summary>Makes of a decision one notification for each device of each walker near, once.</summary>
internal sealed class AlertNotifications(DevicesNear near, IOptions<NotificationOptions> options, TimeProvider time)
{
    // One an hour is told at most.
    private const int MostRises = 25;

    /// <summary>Puts them into the outbox; the caller saves.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="changes">What is told, and at which moment of whom.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>How many devices will be told of each change, and how many walkers it concerns.</returns>
    public async Task<IReadOnlyList<(int Devices, int Walkers)>> PutAsync(
        RegistryDb db, IReadOnlyList<(Spot Spot, AlertDecision Decision, int EventId, DateTimeOffset At)> changes, CancellationToken cancellationToken)
    {
        var found = await FindAsync(db, [.. changes.Select(c => (c.Spot, c.Decision, c.At))], cancellationToken);
        foreach (var (change, (messages, walkers)) in changes.Zip(found))
        {
            db.Notifications.AddRange(messages.Select(m => Row(m.Device, m.Body, change.EventId, change.At)));
            PutConcerned(db, change.Decision, change.EventId, walkers, change.At);
        }

        return [.. found.Select(f => (f.Messages.Count, f.Walkers.Count))];
    }

    /// <summary>Notes whom a warning concerned when it was told, so that who comes later is known as such; the caller saves.</summary>
    public static void PutConcerned(RegistryDb db, AlertDecision decision, int eventId, IReadOnlyCollection<int> walkers, DateTimeOffset at)
    {
        if (decision.IsWarning)
            db.ConcernedWalkers.AddRange(walkers.Select(walker => new ConcernedWalkerRow { EventId = eventId, PersonId = walker, Since = at }));
    }

    /// <summary>Of each change a message for each device that is to be told, and the walkers it concerns. That a rise does not come is news only where the rise was told.</summary>
    public async Task<IReadOnlyList<(IReadOnlyList<(PushSubscriptionRow Device, PushMessageBody Body)> Messages, IReadOnlyCollection<int> Walkers)>> FindAsync(
        RegistryDb db, IReadOnlyList<(Spot Spot, AlertDecision Decision, DateTimeOffset At)> changes, CancellationToken cancellationToken)
    {
        var found = (await near.FindAsync(db, [.. changes.Select(c => (c.Spot, c.At))], cancellationToken)).ToList();
        for (var i = 0; i < changes.Count; i++)
        {
            if (changes[i].Decision.Because == AlertReason.RiseCalledOff && await ToldOfRiseAsync(db, changes[i].Spot, changes[i].Decision.Side, cancellationToken) is { } told)
                found[i] = ([.. found[i].Devices.Where(device => told.Contains(device.Id))], found[i].Walkers);
        }

        var units = await ReadersUnits.FindAsync(db, found.SelectMany(f => f.Devices).Select(d => d.PersonId), cancellationToken);
        return [.. changes.Zip(found, (change, f) => (Messages(change.Spot, change.Decision, f.Devices, units, change.At), f.Walkers))];
    }

    /// <summary>The message as the outbox has it.</summary>
    public NotificationRow Row(PushSubscriptionRow device, PushMessageBody body, int eventId, DateTimeOffset createdAt) => new()
    {
        Id = body.Id,
        EventId = eventId,
        PersonId = device.PersonId,
        SubscriptionId = device.Id,
        SpotId = body.Spot,
        Side = body.Side,
        Payload = body.ToJson(),
        CreatedAt = createdAt,
        ExpiresAt = ExpiryOf(createdAt),
        NextAttemptAt = createdAt,
    };

    /// <summary>Until when a message is news.</summary>
    public DateTimeOffset ExpiryOf(DateTimeOffset createdAt) => createdAt + options.Value.TimeToLive;

    /// <summary>Whether a decision is still news.</summary>
    public bool Matters(AlertDecision decision) => time.GetUtcNow() - decision.At < options.Value.TimeToLive;

    /// <summary>Devices that were told of a rise since anything else was told of its spot; <c>null</c> where the registry knows of none, as when it did not take it.</summary>
    private static async Task<HashSet<int>?> ToldOfRiseAsync(RegistryDb db, Spot spot, AlertSide side, CancellationToken cancellationToken)
    {
        var newest = await db.AlertEvents.Where(e => e.SpotId == spot.Id.Value && e.Side == side && e.Notified).OrderByDescending(e => e.Id)
            .Take(MostRises).Select(e => new { e.Id, e.Because }).ToListAsync(cancellationToken);
        // The calling off itself may be written by now.
        var rises = newest.SkipWhile(e => e.Because == AlertReason.RiseCalledOff).TakeWhile(e => AlertDecision.IsRise(e.Because)).Select(e => e.Id).ToList();
        return rises.Count == 0 ? null : await db.Notifications
            .Where(n => rises.Contains(n.EventId) && (n.Standing == NotificationStanding.Waiting || n.Standing == NotificationStanding.Sent))
            .Select(n => n.SubscriptionId).ToHashSetAsync(cancellationToken);
    }

    private static IReadOnlyList<(PushSubscriptionRow Device, PushMessageBody Body)> Messages(
        Spot spot, AlertDecision decision, IReadOnlyList<PushSubscriptionRow> devices, IReadOnlyDictionary<int, TemperatureUnit> units, DateTimeOffset now) =>
        [.. devices.Select(device => (device, new PushMessageBody(
            Guid.CreateVersion7(now), spot.Id.Value, AlertTexts.Title(spot.Name, decision, spot.TimeZoneId), AlertTexts.What(decision, spot.TimeZoneId),
            AlertTexts.Body(decision, units.GetValueOrDefault(device.PersonId)), decision.Side,
            PushMessageBody.StateOf(decision.To, decision.Side), decision.At,
            $"/spots/{spot.Id}", PushMessageBody.TagOf(spot))))];
}
