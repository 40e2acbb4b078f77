using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Walks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Walks;

/// <summary>Which walk is drawn on a day: the visitor's own first walk by the spot, with what all its ground adds up to.</summary>
internal sealed class VisitorWalkQuery(IDbContextFactory<RegistryDb> registry, WalkDoses doses) : IVisitorWalkQuery
{
    // Asked for each day that is shown: finding the plan of so long a question takes longer than answering it.
    private readonly Func<RegistryDb, int, string, DateTimeOffset, DateTimeOffset, CancellationToken, Task<Found?>> _first = EF.CompileAsyncQuery(
        (RegistryDb db, int walker, string spot, DateTimeOffset from, DateTimeOffset to, CancellationToken _) => db.Set<WalkRow>()
            .Where(w => w.WalkerId == walker && w.Start >= from && w.Start < to && w.Spots.Any(s => s.SpotId == spot))
            .OrderBy(w => w.Start)
            .Join(db.Set<DogRow>(), w => w.DogId, d => d.Id, (w, d) => new Found(
                w.Start, w.Minutes, w.Note, d.Name, w.Spots.OrderBy(s => s.Position).Select(s => s.SpotId).ToList()))
            .FirstOrDefault());

    public async Task<WalkMark?> FindAsync(ClaimsPrincipal visitor, SpotDay day, CancellationToken cancellationToken)
    {
        if (Visitor.PersonId(visitor) is not { } walker)
            return null;
        var (spot, from, to) = (day.Spot.Id.Value, day.From, day.To);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var walk = await _first(db, walker, spot, from, to, cancellationToken);
        if (walk is null)
            return null;
        var end = walk.Start + TimeSpan.FromMinutes(walk.Minutes);
        return new WalkMark(walk.Start, end, walk.Name, walk.Note) { Dose = await doses.OfAsync(walk.Spots, walk.Start, end, cancellationToken) };
    }

    private sealed record Found(DateTimeOffset Start, int Minutes, string Note, string Name, List<string> Spots);
}
