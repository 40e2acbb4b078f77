using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Positions;
using PavementWatch.Server.Walks;

namespace PavementWatch.Server.Notifications;

/// <summary>Which devices get a spot's alerts: those that follow it, and all of people who walk by it soon, now or a moment ago, or who are near and said so.</summary>
internal sealed class DevicesNear(SharedPositions positions)
{
    /// <summary>How long before a walk its alerts begin.</summary>
    public static readonly TimeSpan BeforeWalk = TimeSpan.FromHours(2);

    /// <summary>How long a walk that runs over still counts.</summary>
    public static readonly TimeSpan AfterWalk = TimeSpan.FromHours(1);

    private static readonly TimeSpan LongestWalk = TimeSpan.FromDays(1);

    /// <summary>When a walk starts that may concern somebody at a moment: after the first, up to the second.</summary>
    public static (DateTimeOffset Earliest, DateTimeOffset Latest) StartsAround(DateTimeOffset at) => (at - LongestWalk - AfterWalk, at + BeforeWalk);

    /// <summary>Whether a walk's spots concern its walker at a moment.</summary>
    public static bool Concerns(DateTimeOffset start, int minutes, DateTimeOffset at) =>
        start <= at + BeforeWalk && at <= start + TimeSpan.FromMinutes(minutes) + AfterWalk;

    /// <returns>Of each spot the devices, and the walkers they or the walks belong to: somebody may walk there without a device.</returns>
    public async Task<IReadOnlyList<(IReadOnlyList<PushSubscriptionRow> Devices, IReadOnlyCollection<int> Walkers)>> FindAsync(
        RegistryDb db, IReadOnlyList<(Spot Spot, DateTimeOffset At)> spots, CancellationToken cancellationToken)
    {
        if (spots.Count == 0)
            return [];
        var ids = spots.Select(s => s.Spot.Id.Value).Distinct().ToList();
        var latestStart = StartsAround(spots.Max(s => s.At)).Latest;
        var earliestStart = StartsAround(spots.Min(s => s.At)).Earliest;
        var walks = await db.Walks
            .Where(w => w.WalkerId != null && w.Start <= latestStart && w.Start > earliestStart)
            .SelectMany(w => w.Spots.Where(s => ids.Contains(s.SpotId)), (w, s) => new { s.SpotId, w.WalkerId, w.Start, w.Minutes })
            .ToListAsync(cancellationToken);
        var bySpot = walks.ToLookup(w => w.SpotId);
        var near = spots.Select(s => positions.Near(s.Spot).Concat(bySpot[s.Spot.Id.Value]
            .Where(w => Concerns(w.Start, w.Minutes, s.At)).Select(w => w.WalkerId!.Value)).ToHashSet()).ToList();
        var people = near.SelectMany(n => n).Distinct().ToList();
        var devices = await db.PushSubscriptions.AsNoTracking()
            .Where(s => people.Contains(s.PersonId) || s.Follows.Any(f => ids.Contains(f.SpotId)))
            .ToListAsync(cancellationToken);
        var follows = (await db.Follows.Where(f => ids.Contains(f.SpotId)).Select(f => new { f.SpotId, f.SubscriptionId }).ToListAsync(cancellationToken))
            .ToLookup(f => f.SpotId, f => f.SubscriptionId);
        return [.. spots.Zip(near, (spot, by) =>
        {
            var following = follows[spot.Spot.Id.Value].ToHashSet();
            var concerned = devices.Where(d => by.Contains(d.PersonId) || following.Contains(d.Id)).ToList();
            by.UnionWith(concerned.Select(d => d.PersonId));
            // Who follows it by a phone that is gone is concerned all the same.
            return ((IReadOnlyList<PushSubscriptionRow>)[.. concerned.Where(d => d.GoneAt is null)], (IReadOnlyCollection<int>)by);
        })];
    }
}
