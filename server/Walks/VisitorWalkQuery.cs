using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Walks;

/// <summary>Which walk is drawn on a day: the visitor's own first walk by the spot.</summary>
internal sealed class VisitorWalkQuery(IDbContextFactory<RegistryDb> registry, IHttpContextAccessor visit)
{
    public async Task<WalkMark?> FindAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        if (visit.HttpContext?.User is not { } visitor || Visitor.PersonId(visitor) is not { } walker)
            return null;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var walk = await db.Walks
            .Where(w => w.WalkerId == walker && w.Start >= from && w.Start < to && w.Spots.Any(s => s.SpotId == spot.Value))
            .OrderBy(w => w.Start)
            .Join(db.Dogs, w => w.DogId, d => d.Id, (w, d) => new { w.Start, w.Minutes, w.Note, d.Name })
            .FirstOrDefaultAsync(cancellationToken);
        return walk is null
            ? null
            : new WalkMark(walk.Start, walk.Start + TimeSpan.FromMinutes(walk.Minutes), walk.Name, walk.Note);
    }
}
