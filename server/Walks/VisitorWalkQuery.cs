using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Walks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Walks;

/// <summary>Which walk is drawn on a day: the visitor's own first walk by the spot.</summary>
internal sealed class VisitorWalkQuery(IDbContextFactory<RegistryDb> registry) : IVisitorWalkQuery
{
    public async Task<WalkMark?> FindAsync(ClaimsPrincipal visitor, SpotDay day, CancellationToken cancellationToken)
    {
        if (Visitor.PersonId(visitor) is not { } walker)
            return null;
        var (spot, from, to) = (day.Spot.Id.Value, day.From, day.To);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var walk = await db.Walks
            .Where(w => w.WalkerId == walker && w.Start >= from && w.Start < to && w.Spots.Any(s => s.SpotId == spot))
            .OrderBy(w => w.Start)
            .Join(db.Dogs, w => w.DogId, d => d.Id, (w, d) => new { w.Start, w.Minutes, w.Note, d.Name })
            .FirstOrDefaultAsync(cancellationToken);
        return walk is null
            ? null
            : new WalkMark(walk.Start, walk.Start + TimeSpan.FromMinutes(walk.Minutes), walk.Name, walk.Note);
    }
}
