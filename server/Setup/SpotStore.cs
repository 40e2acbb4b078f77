using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Names;
using PavementWatch.Core.Places;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Setup;

/// <summary>Adds, changes and removes spots in the registry, with what hangs on them.</summary>
internal sealed class SpotStore(IDbContextFactory<RegistryDb> registry, GatewayCatalogue catalogue, TimeProvider time)
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
    public Task<string?> EditSpotAsync(SpotId id, Func<Spot, Spot> change, CancellationToken cancellationToken) =>
        EditSpotAsync(id, change, LimitChanger.Operator, cancellationToken);

    /// <summary>The same, by whom.</summary>
    public async Task<string?> EditSpotAsync(SpotId id, Func<Spot, Spot> change, LimitChanger by, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.Spots.SingleOrDefaultAsync(s => s.Id == id.Value && s.RemovedAt == null, cancellationToken) is not { } row)
            return $"there is no spot '{id}'";
        var changed = change(row.ToSpot());
        if (Fault(changed) is { } fault)
            return fault;
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        if (changed.LimitCelsius != row.LimitCelsius)
            row.LimitChangedBy = by;
        if (changed.ColdLimitCelsius != row.ColdLimitCelsius)
            row.ColdLimitChangedBy = by;
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

    // A fit knows one ground under one sun. Of another ground it could tell too little heat, so the handbook's offset rules until the next.
    private async Task ChangeAsync(RegistryDb db, SpotRow row, Spot spot, CancellationToken cancellationToken)
    {
        var before = row.ToSpot();
        row.Take(spot);
        if (before.HasGroundOf(spot))
            return;

        var now = time.GetUtcNow();
        row.GroundSince = now;
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
        _ when !QuantityRanges.Latitude.Holds(spot.LatitudeDegrees) => $"latitude is {spot.LatitudeDegrees}, expected {QuantityRanges.Latitude}",
        _ when !QuantityRanges.Longitude.Holds(spot.LongitudeDegrees) => $"longitude is {spot.LongitudeDegrees}, expected {QuantityRanges.Longitude}",
        _ when !QuantityRanges.Limit.Holds(spot.LimitCelsius) => $"limit is {spot.LimitCelsius}, expected {QuantityRanges.Limit}",
        _ when !QuantityRanges.ColdLimit.HoldsOrNull(spot.ColdLimitCelsius) => $"cold limit is {spot.ColdLimitCelsius}, expected {QuantityRanges.ColdLimit}",
        _ when !QuantityRanges.SurfaceEmissivity.HoldsOrNull(spot.EmissivityFraction) =>
            $"emissivity is {spot.EmissivityFraction}, expected {QuantityRanges.SurfaceEmissivity}",
        _ when !QuantityRanges.Radius.Holds(spot.RadiusMeters) => $"radius is {spot.RadiusMeters}, expected {QuantityRanges.Radius}",
        _ when !TimeZoneInfo.TryFindSystemTimeZoneById(spot.TimeZoneId, out _) =>
            $"time zone is '{spot.TimeZoneId}', expected an IANA name such as America/Chicago",
        _ => ZoneOfPosition.Fault(
            spot.LatitudeDegrees, spot.LongitudeDegrees, TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId)),
    };
}
