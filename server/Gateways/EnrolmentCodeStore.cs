using System.Buffers.Text;
using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
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
    BrokerEndpoint door,
    GatewayRights rights,
    [FromKeyedServices(Clocks.People)] TimeProvider time,
    ILogger<EnrolmentCodeStore> logger)
{
    // Long enough to answer "used" or "expired" to whoever finds the note again.
    private static readonly TimeSpan CodesKept = TimeSpan.FromDays(7);

    /// <summary>Makes a code for a gateway; earlier ones of it that nobody used end.</summary>
    /// <param name="gateway">Which; a new one is entered.</param>
    /// <param name="spots">Spots it measures from now on; <c>null</c> leaves them.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    public async Task<CodeOutcome> NewCodeAsync(GatewayId gateway, IReadOnlyList<SpotId>? spots, CancellationToken cancellationToken)
    {
        if (spots?.Any(spot => spotCatalogue.Find(spot) is null) == true)
            return new CodeOutcome.Refused($"there is no spot '{spots.First(spot => spotCatalogue.Find(spot) is null)}'; add it first");
        // Before any spot is taken from another gateway.
        if (door.Find().Fault is { } fault)
            return new CodeOutcome.Refused(fault);
        IReadOnlyList<MovedSpot> moved = spots is { Count: > 0 } ? await gateways.SetSpotsAsync(gateway, spots, cancellationToken) : [];
        if (catalogue.All.GetValueOrDefault(gateway) is not { Count: > 0 } measured)
            return new CodeOutcome.Refused($"gateway '{gateway}' has no spots yet; name at least one that it measures");

        var (code, now) = (EnrolmentCode.New(), time.GetUtcNow());
        var old = now - CodesKept;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await db.EnrolmentCodes.Where(c => c.ExpiresAt < old).ExecuteDeleteAsync(cancellationToken);
        await db.EnrolmentCodes.Where(c => c.GatewayId == gateway.Value && c.UsedAt == null && c.ExpiresAt > now)
            .ExecuteUpdateAsync(set => set.SetProperty(c => c.ExpiresAt, now), cancellationToken);
        var row = new EnrolmentCodeRow
        {
            GatewayId = gateway.Value,
            CodeHash = EnrolmentCode.Hash(code),
            CreatedAt = now,
            ExpiresAt = now + EnrolmentOptions.CodeLife,
        };
        db.EnrolmentCodes.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        logger.CodeMade(gateway, row.ExpiresAt);
        return new CodeOutcome.Made(code, row.ExpiresAt, measured, moved);
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
        if (door.Find() is not ({ } way, _))
            return new RedeemOutcome.Unready(door.Find().Fault!);

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
        var secretHash = SecretHash.Of(password);
        await db.Gateways.Where(g => g.Id == row.GatewayId)
            .ExecuteUpdateAsync(set => set.SetProperty(g => g.SecretHash, secretHash), cancellationToken);
        await together.CommitAsync(cancellationToken);
        var gateway = GatewayId.Parse(row.GatewayId);
        // Another process may have made the code, for spots this one does not know yet.
        await rights.EnforceAsync(cancellationToken);
        logger.Enrolled(gateway);
        return new RedeemOutcome.Enrolled(gateway, password, way, catalogue.All.GetValueOrDefault(gateway) ?? []);
    }
}
