using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.People;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Gateways;

/// <summary>Adds, changes and removes gateways in the registry.</summary>
internal sealed class GatewayStore(IDbContextFactory<RegistryDb> registry, SpotCatalogue spotCatalogue, GatewayCatalogue catalogue, TimeProvider time)
{
    /// <summary>Adds a gateway, or gives an existing one a new secret and other spots.</summary>
    /// <returns>Spots that another gateway had: they are this one's now.</returns>
    public Task<IReadOnlyList<MovedSpot>> SetGatewayAsync(
        GatewayId gateway, string secret, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        SetAsync(gateway, secret, spots, cancellationToken);

    /// <summary>Gives a gateway other spots; a new one has a secret nobody knows until it enrols.</summary>
    /// <returns>Spots that another gateway had: they are this one's now.</returns>
    public Task<IReadOnlyList<MovedSpot>> SetSpotsAsync(GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        SetAsync(gateway, null, spots, cancellationToken);

    /// <summary>Enters a gateway that has no spots and a secret nobody knows; one that is known is left as it is.</summary>
    public async Task EnterAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        if (!catalogue.All.ContainsKey(gateway))
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            if (!await db.Gateways.AnyAsync(g => g.Id == gateway.Value, cancellationToken))
            {
                db.Gateways.Add(NewRow(gateway));
                await db.SaveChangesAsync(cancellationToken);
            }
        }

        await catalogue.RefreshAsync(cancellationToken);
    }

    /// <summary>Gives a gateway what it was promised with its code, within the caller's transaction.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="gateway">Which.</param>
    /// <param name="secret">Its new secret.</param>
    /// <param name="spots">Spots it measures from now on, those left out that were removed meanwhile; <c>null</c> leaves them.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    /// <returns>Spots that another gateway had: they are this one's now.</returns>
    public async Task<IReadOnlyList<MovedSpot>> TakeCodeAsync(
        RegistryDb db, GatewayId gateway, string secret, IReadOnlyList<string>? spots, CancellationToken cancellationToken) =>
        await SetAsync(
            db, gateway, secret,
            spots is null ? null : await db.Spots.Where(s => spots.Contains(s.Id) && s.RemovedAt == null).Select(s => s.Id).ToListAsync(cancellationToken),
            cancellationToken);

    /// <summary>Removes a gateway: its secret, its codes, its spots' tie to it. Their readings stay. The name may be given anew.</summary>
    /// <returns>Whether there was one.</returns>
    public async Task<bool> RemoveGatewayAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        await db.EnrolmentCodes.Where(c => c.GatewayId == gateway.Value).ExecuteDeleteAsync(cancellationToken);
        await db.GatewaySpots.Where(s => s.GatewayId == gateway.Value).ExecuteDeleteAsync(cancellationToken);
        var removed = await db.Gateways.Where(g => g.Id == gateway.Value).ExecuteDeleteAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return removed > 0;
    }

    private async Task<IReadOnlyList<MovedSpot>> SetAsync(
        GatewayId gateway, string? secret, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        var moved = await SetAsync(db, gateway, secret, [.. spots.Select(spot => spot.Value).Distinct()], cancellationToken);
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return moved;
    }

    private async Task<IReadOnlyList<MovedSpot>> SetAsync(
        RegistryDb db, GatewayId gateway, string? secret, IReadOnlyList<string>? spots, CancellationToken cancellationToken)
    {
        var row = await db.Gateways.Include(g => g.Spots).SingleOrDefaultAsync(g => g.Id == gateway.Value, cancellationToken);
        if (row is null)
        {
            row = NewRow(gateway);
            db.Gateways.Add(row);
        }

        if (secret is not null)
            row.SecretHash = SecretHash.Of(secret);
        var wanted = spots ?? [.. row.Spots.Select(s => s.SpotId)];
        var elsewhere = await db.GatewaySpots.AsNoTracking().Where(s => wanted.Contains(s.SpotId) && s.GatewayId != gateway.Value)
            .OrderBy(s => s.SpotId).ToListAsync(cancellationToken);
        await NoteFormerAsync(db, [.. elsewhere, .. row.Spots.Where(s => !wanted.Contains(s.SpotId))], cancellationToken);
        await db.GatewaySpots.Where(s => wanted.Contains(s.SpotId) && s.GatewayId != gateway.Value).ExecuteDeleteAsync(cancellationToken);
        await db.FormerGatewaySpots.Where(s => wanted.Contains(s.SpotId) && s.GatewayId == gateway.Value).ExecuteDeleteAsync(cancellationToken);
        row.Spots.RemoveAll(s => !wanted.Contains(s.SpotId));
        row.Spots.AddRange(wanted
            .Where(spot => row.Spots.All(s => s.SpotId != spot))
            .Select(spot => new GatewaySpotRow { GatewayId = gateway.Value, SpotId = spot })
            .ToList());
        await db.SaveChangesAsync(cancellationToken);
        return [.. elsewhere.Select(s => new MovedSpot(
            spotCatalogue.Find(SpotId.Parse(s.SpotId))?.Name ?? s.SpotId, GatewayId.Parse(s.GatewayId), gateway))];
    }

    // With a secret that nobody knows.
    private GatewayRow NewRow(GatewayId gateway) => new() { Id = gateway.Value, SecretHash = SecretHash.Of(LinkToken.New()), CreatedAt = time.GetUtcNow() };

    // What waits at the gateway from before is still to come.
    private async Task NoteFormerAsync(RegistryDb db, IReadOnlyList<GatewaySpotRow> taken, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        foreach (var one in taken)
        {
            if (await db.FormerGatewaySpots.FindAsync([one.GatewayId, one.SpotId], cancellationToken) is { } known)
                known.Until = now;
            else
                db.FormerGatewaySpots.Add(new FormerGatewaySpotRow { GatewayId = one.GatewayId, SpotId = one.SpotId, Until = now });
        }
    }
}

/// <summary>A spot that one gateway had and another has now.</summary>
/// <param name="Name">The spot's name for people.</param>
/// <param name="From">Whose it was.</param>
/// <param name="To">Whose it is.</param>
internal sealed record MovedSpot(string Name, GatewayId From, GatewayId To)
{
    public override string ToString() =>
        $"{Name} was on {From}; it now belongs to {To}. {From} no longer reads it; what it measured there before is still taken from it";

    /// <summary>What is said while the code that moves it was not used.</summary>
    public string Coming => $"{Name} is on {From} until this code is used; then it belongs to {To}, and {From} no longer reads it";
}
