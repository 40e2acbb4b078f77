using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Notifications;

/// <summary>Makes of a decision one notification for each device of each walker near, once.</summary>
internal sealed class AlertNews(DevicesNear near, IOptions<NotificationOptions> options, TimeProvider time)
{
    /// <summary>Puts them into the outbox; the caller saves.</summary>
    /// <returns>How many devices will be told, and how many walkers it concerns.</returns>
    public async Task<(int Devices, int Walkers)> PutAsync(
        RegistryDb db, Spot spot, AlertDecision decision, int eventId, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var (devices, walkers) = await near.FindAsync(db, spot, now, cancellationToken);
        foreach (var device in devices)
        {
            var id = Guid.CreateVersion7(now);
            var url = $"/spots/{spot.Id}";
            var body = new PushMessageBody(
                id, spot.Id.Value, Title(spot, decision), decision.Text(spot.Name), decision.To, decision.At, url, $"spot-{spot.Id}");
            db.Notifications.Add(new NotificationRow
            {
                Id = id,
                EventId = eventId,
                PersonId = device.PersonId,
                SubscriptionId = device.Id,
                SpotId = spot.Id.Value,
                Payload = body.ToJson(),
                CreatedAt = now,
                ExpiresAt = now + options.Value.TimeToLive,
                NextAttemptAt = now,
            });
        }

        return (devices.Count, walkers);
    }

    private static string Title(Spot spot, AlertDecision decision) => spot.Name + decision.Because switch
    {
        AlertReason.ReadingsOverLimit => " too hot",
        AlertReason.OverLimitAgain => " too hot again",
        AlertReason.EstimateOverLimit => " estimated too hot",
        AlertReason.DoubtfulOverLimit => " may be too hot",
        AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit => " soon too hot",
        AlertReason.UnderLongEnough => " below its limit again",
        AlertReason.EstimateUnderLongEnough => " estimated below its limit",
        AlertReason.NoGoodReading => " not measured now",
        _ => "",
    };
}
