using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry;

namespace PavementWatch.Server.Notifications;

/// <summary>Who gets a spot's alerts: those who follow it, who walk by it soon or now, or who are near and said so.</summary>
internal sealed class WalkersNear(SharedPositions positions)
{
    /// <summary>How long before a walk its alerts begin.</summary>
    public static readonly TimeSpan BeforeWalk = TimeSpan.FromHours(2);

    public async Task<IReadOnlySet<int>> FindAsync(
        RegistryDb db, Spot spot, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var near = positions.Near(spot).ToHashSet();
        near.UnionWith(await db.Follows.Where(f => f.SpotId == spot.Id.Value)
            .Select(f => f.PersonId).ToListAsync(cancellationToken));
        var latestStart = now + BeforeWalk;
        var earliestStart = now - TimeSpan.FromDays(1);
        var walks = await db.Walks
            .Where(w => w.Start <= latestStart && w.Start > earliestStart && w.Spots.Any(s => s.SpotId == spot.Id.Value))
            .Select(w => new { w.WalkerId, w.Start, w.Minutes })
            .ToListAsync(cancellationToken);
        near.UnionWith(walks.Where(w => now <= w.Start + TimeSpan.FromMinutes(w.Minutes)).Select(w => w.WalkerId));
        return near;
    }
}
