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
    /// <summary>Puts them into the outbox; the caller saves.</summary>
    /// <returns>How many devices will be told, and how many walkers it concerns.</returns>
    public async Task<(int Devices, int Walkers)> PutAsync(
        RegistryDb db, Spot spot, AlertDecision decision, int eventId, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var (messages, walkers) = await FindAsync(db, spot, decision, cancellationToken);
        foreach (var (device, body) in messages)
            db.Notifications.Add(Row(device, body, eventId, now));
        return (messages.Count, walkers);
    }

    /// <summary>A message for each device that is to be told, and how many walkers it concerns.</summary>
    public async Task<(IReadOnlyList<(PushSubscriptionRow Device, PushMessageBody Body)> Messages, int Walkers)> FindAsync(
        RegistryDb db, Spot spot, AlertDecision decision, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var (devices, walkers) = await near.FindAsync(db, spot, now, cancellationToken);
        return ([.. devices.Select(device => (device, new PushMessageBody(
            Guid.CreateVersion7(now), spot.Id.Value, AlertTexts.Title(spot.Name, decision), AlertTexts.Body(decision), decision.To, decision.At,
            $"/spots/{spot.Id}", $"spot-{spot.Id}")))], walkers);
    }

    /// <summary>The message as the outbox has it.</summary>
    public NotificationRow Row(PushSubscriptionRow device, PushMessageBody body, int eventId, DateTimeOffset createdAt) => new()
    {
        Id = body.Id,
        EventId = eventId,
        PersonId = device.PersonId,
        SubscriptionId = device.Id,
        SpotId = body.Spot,
        Payload = body.ToJson(),
        CreatedAt = createdAt,
        ExpiresAt = createdAt + options.Value.TimeToLive,
        NextAttemptAt = createdAt,
    };

    /// <summary>Whether a decision is still news.</summary>
    public bool Matters(AlertDecision decision) => time.GetUtcNow() - decision.At < options.Value.TimeToLive;
}
