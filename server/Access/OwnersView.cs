using System.Globalization;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Registry;

namespace PavementWatch.Server.Access;

/// <summary>What the owner of a dog may see: the days of the spots on the dog's walks, nothing else.</summary>
internal sealed class OwnersView(IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue)
{
    /// <summary>Whether one of the dog's walks goes by the spot.</summary>
    public async Task<bool> MaySeeAsync(int dogId, SpotId spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Walks.AnyAsync(
            w => w.DogId == dogId && w.Spots.Any(s => s.SpotId == spot.Value), cancellationToken);
    }

    /// <summary>The day of the dog's newest walk at its first spot; the front page when there is none yet.</summary>
    public async Task<string> FirstPageAsync(int dogId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var walk = await db.Walks.Include(w => w.Spots).Where(w => w.DogId == dogId)
            .OrderByDescending(w => w.Start).FirstOrDefaultAsync(cancellationToken);
        if (walk?.Spots.MinBy(s => s.Position) is not { } first
            || catalogue.Find(SpotId.Parse(first.SpotId)) is not { } spot)
            return "/";
        var local = TimeZoneInfo.ConvertTime(walk.Start, TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId));
        return string.Create(CultureInfo.InvariantCulture, $"/spots/{spot.Id}?day={local:yyyy-MM-dd}");
    }
}
