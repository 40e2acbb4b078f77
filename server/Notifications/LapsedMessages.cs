using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>Messages that a push service took and let go again, because the device was off for longer than they were news.</summary>
internal static class LapsedMessages
{
    /// <summary>
    /// A device is heard of: what was sent to it, is too old by now and was never shown, will not come any more. It counts as too old
    /// before it was sent, so that the device is told what stands.
    /// </summary>
    /// <remarks>All that is known of a device are its receipts and its visits. One that shows a message and cannot say so is told twice.</remarks>
    public static Task<int> ExpireAsync(RegistryDb db, int subscriptionId, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.Notifications
            .Where(n => n.SubscriptionId == subscriptionId && n.Standing == NotificationStanding.Sent && n.ShownAt == null && n.ExpiresAt <= now)
            .ExecuteUpdateAsync(
                set => set.SetProperty(n => n.Standing, NotificationStanding.Expired)
                    .SetProperty(n => n.LastFault, "the push service took it, and the device did not show it in time"),
                cancellationToken);
}
