using System.Buffers.Text;
using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Gateways;

/// <summary>Gives out single-use codes and takes them for credentials.</summary>
internal sealed class EnrolmentCodeStore(
    IDbContextFactory<RegistryDb> registry,
    SpotCatalogue spotCatalogue,
    GatewayCatalogue catalogue,
    GatewayStore gateways,
    BrokerEndpoint endpoint,
    GatewayRights rights,
    [FromKeyedServices(Clocks.People)] TimeProvider time,
    ILogger<EnrolmentCodeStore> logger)
{
    // Long enough to answer "used" or "expired" to whoever finds the note again.
    private static readonly TimeSpan CodesKept = TimeSpan.FromDays(7);

    /// <summary>Makes a code for a gateway; earlier ones of it that nobody used end. Until it is used each spot stays with the gateway that measures it.</summary>
    /// <param name="gateway">Which; a new one is entered, without spots.</param>
    /// <param name="spots">Spots it measures once the code is used; <c>null</c> takes those of its last code, where nobody used that, or else leaves them.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    public async Task<CodeOutcome> NewCodeAsync(GatewayId gateway, IReadOnlyList<SpotId>? spots, CancellationToken cancellationToken)
    {
        if (spots?.Any(spot => spotCatalogue.Find(spot) is null) == true)
            return new CodeOutcome.Refused($"there is no spot '{spots.First(spot => spotCatalogue.Find(spot) is null)}'; add it first");
        if (endpoint.Find().Fault is { } fault)
            return new CodeOutcome.Refused(fault);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var named = spots is { Count: > 0 } ? spots.Distinct().ToList() : await NamedBeforeAsync(db, gateway, cancellationToken);
        IReadOnlyList<Spot> measured = named is null
            ? catalogue.All.GetValueOrDefault(gateway) ?? []
            : [.. spotCatalogue.All.Where(spot => named.Contains(spot.Id))];
        if (measured.Count == 0)
            return new CodeOutcome.Refused($"gateway '{gateway}' has no spots yet; name at least one that it measures");
        await gateways.EnterAsync(gateway, cancellationToken);

        var (code, now) = (EnrolmentCode.New(), time.GetUtcNow());
        var old = now - CodesKept;
        await db.EnrolmentCodes.Where(c => c.ExpiresAt < old).ExecuteDeleteAsync(cancellationToken);
        await db.EnrolmentCodes.Where(c => c.GatewayId == gateway.Value && c.UsedAt == null && c.ExpiresAt > now)
            .ExecuteUpdateAsync(set => set.SetProperty(c => c.ExpiresAt, now), cancellationToken);
        var row = new EnrolmentCodeRow
        {
            GatewayId = gateway.Value,
            SpotIds = named is null ? null : string.Join(',', named),
            CodeHash = EnrolmentCode.Hash(code),
            CreatedAt = now,
            ExpiresAt = now + EnrolmentOptions.CodeLife,
        };
        db.EnrolmentCodes.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        logger.CodeMade(gateway, row.ExpiresAt);
        return new CodeOutcome.Made(code, row.ExpiresAt, measured, [.. catalogue.All
            .Where(other => other.Key != gateway)
            .SelectMany(other => other.Value.Where(measured.Contains).Select(spot => new MovedSpot(spot.Name, other.Key, gateway)))]);
    }

    private async Task<List<SpotId>?> NamedBeforeAsync(RegistryDb db, GatewayId gateway, CancellationToken cancellationToken)
    {
        var last = await db.EnrolmentCodes.Where(c => c.GatewayId == gateway.Value).OrderByDescending(c => c.Id)
            .Select(c => new { c.UsedAt, c.SpotIds }).FirstOrDefaultAsync(cancellationToken);
        return last is { UsedAt: null, SpotIds: { } ids } && ids.Split(',').Select(SpotId.Parse).Where(spot => spotCatalogue.Find(spot) is not null).ToList() is { Count: > 0 } named
            ? named
            : null;
    }

    /// <summary>Takes a code for new credentials; those the gateway had before no longer sign in.</summary>
    public async Task<RedeemOutcome> RedeemAsync(string? text, CancellationToken cancellationToken)
    {
        var (code, fault) = EnrolmentCode.Read(text);
        if (code is null)
            return new RedeemOutcome.Mistyped(fault!);
        var (hash, now) = (EnrolmentCode.Hash(code), time.GetUtcNow());
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.EnrolmentCodes.AsNoTracking().SingleOrDefaultAsync(c => c.CodeHash == hash, cancellationToken) is not { } row)
            return new RedeemOutcome.Unknown();
        if (row.UsedAt is null && row.ExpiresAt <= now)
            return new RedeemOutcome.Expired(row.ExpiresAt);
        // Before the code is spent: it is good again once the setting is there.
        if (endpoint.Find() is not ({ } broker, _))
            return new RedeemOutcome.Unready(endpoint.Find().Fault!);

        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        var mine = await db.EnrolmentCodes.Where(c => c.Id == row.Id && c.UsedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(c => c.UsedAt, now).SetProperty(c => c.Uses, 1), cancellationToken);
        if (mine == 0)
        {
            await db.EnrolmentCodes.Where(c => c.Id == row.Id)
                .ExecuteUpdateAsync(set => set.SetProperty(c => c.Uses, c => c.Uses + 1), cancellationToken);
            await together.CommitAsync(cancellationToken);
            logger.CodeAgain(row.GatewayId, row.Uses + 1);
            return new RedeemOutcome.Used(row.UsedAt ?? now);
        }

        var password = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(24));
        var gateway = GatewayId.Parse(row.GatewayId);
        var moved = await gateways.TakeCodeAsync(db, gateway, password, row.SpotIds?.Split(','), cancellationToken);
        await together.CommitAsync(cancellationToken);
        // Another process may have made the code, for spots this one does not know yet.
        await rights.EnforceAsync(cancellationToken);
        logger.Enrolled(gateway);
        foreach (var spot in moved)
            logger.SpotMoved(spot);
        return new RedeemOutcome.Enrolled(gateway, password, broker, catalogue.All.GetValueOrDefault(gateway) ?? []);
    }
}
