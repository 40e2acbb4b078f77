using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.People;
using PavementWatch.Server.Walks;

namespace PavementWatch.Server.Notifications;

/// <summary>What of alerts there is for a visitor: walks of which they are told, and phones that are not told any more.</summary>
internal sealed class VisitorAlertsQuery(IDbContextFactory<RegistryDb> registry, TimeProvider time) : IVisitorAlerts
{
    public async Task<VisitorAlerts> OfAsync(ClaimsPrincipal visitor, CancellationToken cancellationToken)
    {
        if (Visitor.PersonId(visitor) is not { } person)
            return new VisitorAlerts(false, []);
        var now = time.GetUtcNow();
        var earliest = DevicesNear.StartsAround(now).Earliest;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var walks = await db.Walks.Where(w => w.WalkerId == person && w.Start > earliest && w.Spots.Count > 0)
            .OrderByDescending(w => w.Start).Select(w => new { w.Start, w.Minutes }).Take(100).ToListAsync(cancellationToken);
        return new VisitorAlerts(
            walks.Any(w => w.Start > now || DevicesNear.Concerns(w.Start, w.Minutes, now)),
            await db.PushSubscriptions.Where(s => s.PersonId == person && s.GoneAt != null).OrderBy(s => s.GoneAt).Select(s => s.GoneAt!.Value).ToListAsync(cancellationToken));
    }
}
