using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Walks;

namespace PavementWatch.Server.Watch;

/// <summary>The walks of those who would hear an all-clear now: it has to hold for as long as they may be out.</summary>
internal sealed class PlannedWalks(IDbContextFactory<RegistryDb> registry)
{
    /// <summary>The longest walk at each spot that begins within two hours, is under way or was over less than an hour ago.</summary>
    /// <param name="now">UTC.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>By spot; spots without one are not among them.</returns>
    public async Task<IReadOnlyDictionary<string, TimeSpan>> LongestAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var (earliest, latest) = DevicesNear.StartsAround(now);
        var walks = await db.Walks.Where(w => w.Start > earliest && w.Start <= latest)
            .SelectMany(w => w.Spots, (w, s) => new { s.SpotId, w.Start, w.Minutes }).ToListAsync(cancellationToken);
        return walks.Where(w => DevicesNear.Concerns(w.Start, w.Minutes, now))
            .GroupBy(w => w.SpotId).ToDictionary(g => g.Key, g => TimeSpan.FromMinutes(g.Max(w => w.Minutes)));
    }
}
