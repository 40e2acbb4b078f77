using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Positions;
using PavementWatch.Server.Walks;

namespace PavementWatch.Server.Notifications;

/// <summary>Which devices get a spot's alerts: those that follow it, and all of people who walk by it soon or now, or who are near and said so.</summary>
internal sealed class DevicesNear(SharedPositions positions)
{
    /// <summary>How long before a walk its alerts begin.</summary>
    public static readonly TimeSpan BeforeWalk = TimeSpan.FromHours(2);

    private static readonly TimeSpan LongestWalk = TimeSpan.FromDays(1);

    /// <returns>The devices, and how many walkers they or the walks belong to: somebody may walk there without a device.</returns>
    public async Task<(IReadOnlyList<PushSubscriptionRow> Devices, int Walkers)> FindAsync(
        RegistryDb db, Spot spot, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var people = positions.Near(spot).ToHashSet();
        var latestStart = now + BeforeWalk;
        var earliestStart = now - LongestWalk;
        var walks = await db.Walks
            .Where(w => w.WalkerId != null && w.Start <= latestStart && w.Start > earliestStart && w.Spots.Any(s => s.SpotId == spot.Id.Value))
            .Select(w => new { w.WalkerId, w.Start, w.Minutes })
            .ToListAsync(cancellationToken);
        people.UnionWith(walks.Where(w => now <= w.Start + TimeSpan.FromMinutes(w.Minutes)).Select(w => w.WalkerId!.Value));
        var devices = await db.PushSubscriptions.AsNoTracking()
            .Where(s => people.Contains(s.PersonId) || s.Follows.Any(f => f.SpotId == spot.Id.Value))
            .ToListAsync(cancellationToken);
        people.UnionWith(devices.Select(d => d.PersonId));
        return (devices, people.Count);
    }
}
