using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>Messages that a push service took and let go again, because the device was off for longer than they were news.</summary>
internal static class LapsedMessages
{
    /// <summary>
    /// Messages that may be sent again without a word of their device: taken, too old by now, and not said to be shown. A device that never
    /// said that it showed anything may be one that cannot, and is sent each once more only.
    /// </summary>
    /// <param name="db">The registry.</param>
    /// <param name="changes">Of which changes.</param>
    /// <param name="now">UTC.</param>
    /// <param name="cancellationToken">Stops.</param>
    public static Task<HashSet<Guid>> RepeatableAsync(RegistryDb db, List<int> changes, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.Notifications
            .Where(n => changes.Contains(n.EventId) && n.Standing == NotificationStanding.Sent && n.ShownAt == null && n.ExpiresAt <= now
                && (!n.IsRepeat || db.Set<NotificationRow>().Any(other => other.SubscriptionId == n.SubscriptionId && other.ShownAt != null)))
            .Select(n => n.Id).ToHashSetAsync(cancellationToken);

    /// <summary>
    /// A device is heard of: what was sent to it, is too old by now and was never shown, will not come any more. It counts as too old
    /// before it was sent, so that the device is told what stands.
    /// </summary>
    /// <remarks>All that is known of a device are its receipts and its visits. One that shows a message and cannot say so is told again.</remarks>
    public static Task<int> ExpireAsync(RegistryDb db, int subscriptionId, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.Notifications
            .Where(n => n.SubscriptionId == subscriptionId && n.Standing == NotificationStanding.Sent && n.ShownAt == null && n.ExpiresAt <= now)
            .ExecuteUpdateAsync(
                set => set.SetProperty(n => n.Standing, NotificationStanding.Expired)
                    .SetProperty(n => n.LastFault, "the push service took it, and the device did not show it in time"),
                cancellationToken);
}
