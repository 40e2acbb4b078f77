using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>What devices say they have shown.</summary>
internal sealed class Receipts(IDbContextFactory<RegistryDb> registry, TimeProvider time)
{
    /// <summary>Keeps when a device first said so.</summary>
    /// <returns>Whether there is such a notification.</returns>
    public async Task<bool> ShownAsync(Guid notification, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.Notifications.SingleOrDefaultAsync(n => n.Id == notification, cancellationToken) is not { } row)
            return false;
        row.ShownAt ??= time.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        await LapsedMessages.ExpireAsync(db, row.SubscriptionId, time.GetUtcNow(), cancellationToken);
        return true;
    }
}
