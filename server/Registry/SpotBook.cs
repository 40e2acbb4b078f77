using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Names;
using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Registry;

/// <summary>Writes spots and gateways into the registry.</summary>
internal sealed class SpotBook(IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue, TimeProvider time)
{
    /// <summary>Adds a spot after the others. One that was removed comes back, with its readings and as it is given here.</summary>
    /// <returns>Whether it was new; a spot of that name is left as it is.</returns>
    /// <exception cref="ArgumentException">A field is outside its range; the message names it.</exception>
    public async Task<bool> AddSpotAsync(Spot spot, CancellationToken cancellationToken)
    {
        if (Fault(spot) is { } fault)
            throw new ArgumentException(fault, nameof(spot));
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await db.Spots.SingleOrDefaultAsync(s => s.Id == spot.Id.Value, cancellationToken) is not { } row)
        {
            var position = await db.Spots.MaxAsync(s => (int?)s.Position, cancellationToken) ?? -1;
            db.Spots.Add(SpotRow.Of(spot, position + 1));
        }
        else if (row.RemovedAt is not null)
        {
            row.RemovedAt = null;
            await ChangeAsync(db, row, spot, cancellationToken);
        }
        else
        {
            return false;
        }

        await db.SaveChangesAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return true;
    }

    /// <summary>Changes a spot; its name on the wire stays.</summary>
    /// <param name="id">Which.</param>
    /// <param name="change">Makes the spot as it is to be of what it is.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    /// <returns><c>null</c>, or what is wrong with it and what was expected.</returns>
    public async Task<string?> EditSpotAsync(SpotId id, Func<Spot, Spot> change, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.Spots.SingleOrDefaultAsync(s => s.Id == id.Value && s.RemovedAt == null, cancellationToken) is not { } row)
            return $"there is no spot '{id}'";
        var changed = change(row.ToSpot());
        if (Fault(changed) is { } fault)
            return fault;
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        await ChangeAsync(db, row, changed, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return null;
    }

    /// <summary>Removes a spot: nobody watches it, no gateway measures it, nobody follows it. Its readings, fits, checks and alerts stay.</summary>
    /// <returns>Whether there was one.</returns>
    public async Task<bool> RemoveSpotAsync(SpotId id, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        var removed = await db.Spots.Where(s => s.Id == id.Value && s.RemovedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(s => s.RemovedAt, now), cancellationToken);
        await db.GatewaySpots.Where(s => s.SpotId == id.Value).ExecuteDeleteAsync(cancellationToken);
        await db.FormerGatewaySpots.Where(s => s.SpotId == id.Value).ExecuteDeleteAsync(cancellationToken);
        await db.Follows.Where(f => f.SpotId == id.Value).ExecuteDeleteAsync(cancellationToken);
        // What it remembers is of now; should it come back, it begins anew.
        await db.AlertMemories.Where(m => m.SpotId == id.Value).ExecuteDeleteAsync(cancellationToken);
        await db.Notifications.Where(n => n.SpotId == id.Value && n.Standing == NotificationStanding.Waiting)
            .ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Overtaken), cancellationToken);
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return removed > 0;
    }

    /// <summary>Adds a gateway, or gives an existing one a new secret and other spots.</summary>
    /// <returns>Spots that another gateway had: they are this one's now.</returns>
    public Task<IReadOnlyList<MovedSpot>> SetGatewayAsync(
        GatewayId gateway, string secret, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        SetAsync(gateway, secret, spots, cancellationToken);

    /// <summary>Gives a gateway other spots; a new one has a secret nobody knows until it enrols.</summary>
    /// <returns>Spots that another gateway had: they are this one's now.</returns>
    public Task<IReadOnlyList<MovedSpot>> SetSpotsAsync(GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
        SetAsync(gateway, null, spots, cancellationToken);

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
        var row = await db.Gateways.Include(g => g.Spots).SingleOrDefaultAsync(g => g.Id == gateway.Value, cancellationToken);
        if (row is null)
        {
            secret ??= LinkToken.New();
            row = new GatewayRow { Id = gateway.Value, SecretHash = "", CreatedAt = time.GetUtcNow() };
            db.Gateways.Add(row);
        }

        if (secret is not null)
            row.SecretHash = SecretHash.Of(secret);
        var wanted = spots.Select(spot => spot.Value).Distinct().ToList();
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
        await together.CommitAsync(cancellationToken);
        await catalogue.RefreshAsync(cancellationToken);
        return [.. elsewhere.Select(s => new MovedSpot(
            catalogue.Find(SpotId.Parse(s.SpotId))?.Name ?? s.SpotId, GatewayId.Parse(s.GatewayId), gateway))];
    }

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

    // A fit knows one ground under one sun. Of another ground it could tell too little heat, so the handbook's offset rules until the next.
    private async Task ChangeAsync(RegistryDb db, SpotRow row, Spot spot, CancellationToken cancellationToken)
    {
        var before = row.ToSpot();
        row.Take(spot);
        if (before.Surface == spot.Surface && before.LatitudeDegrees == spot.LatitudeDegrees && before.LongitudeDegrees == spot.LongitudeDegrees
            && before.TimeZoneId == spot.TimeZoneId && before.EmissivityFraction == spot.EmissivityFraction)
        {
            return;
        }

        var now = time.GetUtcNow();
        await db.Fits.Where(f => f.SpotId == row.Id && f.Standing != FitStanding.Refused)
            .ExecuteUpdateAsync(
                set => set.SetProperty(f => f.Standing, FitStanding.Retired)
                    .SetProperty(f => f.Reason, FitRow.OtherGround)
                    .SetProperty(f => f.DecidedAt, now),
                cancellationToken);
    }

    /// <summary>The first field of a spot that cannot be, what was found and what was expected; <c>null</c> when all is well.</summary>
    public static string? Fault(Spot spot) => spot switch
    {
        { Id.Value: "" } => "id is empty, expected a name of a-z, 0-9 and '-'",
        _ when NameRule.Fault("name", spot.Name) is { } fault => fault,
        { Site.Length: > 0 } when NameRule.Fault("site", spot.Site) is { } fault => fault,
        { Surface: SurfaceKind.Unknown } => "surface is unknown, expected a kind such as asphalt",
        { LatitudeDegrees: not (>= -90 and <= 90) } => $"latitude is {spot.LatitudeDegrees}, expected -90 to 90 degrees",
        { LongitudeDegrees: not (>= -180 and <= 180) } => $"longitude is {spot.LongitudeDegrees}, expected -180 to 180 degrees",
        { LimitCelsius: not (>= 30 and <= 70) } => $"limit is {spot.LimitCelsius}, expected 30 to 70 °C",
        { EmissivityFraction: not (null or (>= 0.5 and <= 1)) } => $"emissivity is {spot.EmissivityFraction}, expected 0.5 to 1",
        { RadiusMeters: not (>= 10 and <= 50_000) } => $"radius is {spot.RadiusMeters}, expected 10 to 50000 m",
        _ when !TimeZoneInfo.TryFindSystemTimeZoneById(spot.TimeZoneId, out _) =>
            $"time zone is '{spot.TimeZoneId}', expected an IANA name such as America/Chicago",
        _ => ZoneOfPosition.Fault(
            spot.LatitudeDegrees, spot.LongitudeDegrees, TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId)),
    };
}

/// <summary>A spot that one gateway had and another has now.</summary>
/// <param name="Name">The spot's name for people.</param>
/// <param name="From">Whose it was.</param>
/// <param name="To">Whose it is.</param>
internal sealed record MovedSpot(string Name, GatewayId From, GatewayId To)
{
    public override string ToString() =>
        $"{Name} was on {From}; it now belongs to {To}. What {From} measured there before is still taken from it";
}
