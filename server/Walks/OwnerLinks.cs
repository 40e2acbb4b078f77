using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Walks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.People;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Walks;

/// <summary>What a dog's owner sees by their link: the newest walk and the day of each spot it went by.</summary>
internal sealed class OwnerLinks(
    IDbContextFactory<RegistryDb> registry,
    SpotCatalogue catalogue,
    ISpotDays days,
    WalkDoses doses,
    [FromKeyedServices(Clocks.People)] TimeProvider peopleTime,
    TimeProvider time) : IOwnerLinks
{
    public async Task<OwnerWalk?> FindAsync(string token, CancellationToken cancellationToken)
    {
        var hash = LinkToken.Hash(token);
        var now = peopleTime.GetUtcNow();
        var soon = time.GetUtcNow() + TimeSpan.FromDays(1);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var found = await db.OwnerLinks
            .Where(l => l.TokenHash == hash && l.ExpiresAt > now && l.RevokedAt == null)
            .Join(db.Dogs, l => l.DogId, d => d.Id, (l, d) => new { l.DogId, l.ExpiresAt, d.Name })
            .SingleOrDefaultAsync(cancellationToken);
        if (found is null)
            return null;
        var walk = await db.Walks.Include(w => w.Spots)
            .Where(w => w.DogId == found.DogId && w.Start < soon)
            .OrderByDescending(w => w.Start).FirstOrDefaultAsync(cancellationToken);
        if (walk is null)
            return new OwnerWalk(found.Name, "nobody yet", [], found.ExpiresAt);
        var walker = await db.People.Where(p => p.Id == walk.WalkerId).Select(p => p.UserName).SingleOrDefaultAsync(cancellationToken)
            ?? "somebody who has left since";
        var mark = new WalkMark(walk.Start, walk.Start + TimeSpan.FromMinutes(walk.Minutes), found.Name, walk.Note);
        var drawn = new List<SpotDay>();
        foreach (var stop in walk.Spots.OrderBy(s => s.Position))
        {
            if (catalogue.Find(SpotId.Parse(stop.SpotId)) is not { } spot)
                continue;
            var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
            var day = DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(walk.Start, zone).DateTime);
            if (await days.DayAsync(spot.Id, day, cancellationToken) is { } curve)
                drawn.Add(curve with { Walk = mark });
        }

        return new OwnerWalk(found.Name, walker, drawn, found.ExpiresAt)
        {
            Dose = await doses.OfAsync(walk.Spots.OrderBy(s => s.Position).Select(s => s.SpotId), mark.From, mark.To, cancellationToken),
        };
    }
}
