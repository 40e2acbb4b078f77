using System.Collections.Concurrent;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Gateways;

/// <summary>Answers the broker from the registry: who may sign in, and which gateway measures which spot.</summary>
internal sealed class RegistryGatewayDirectory(IDbContextFactory<RegistryDb> registry, GatewayCatalogue catalogue)
    : IGatewayDirectory
{
    // A wrong name costs as much time as a wrong password, so names cannot be found out by the clock.
    private static readonly string NobodysHash = SecretHash.Of("nobody");

    // Names the registry knows only, so it is as small as the registry. Held in memory, under a key of this process: a quick
    // hash of a password that lay on a disk could be guessed at.
    private readonly ConcurrentDictionary<string, (byte[] Mark, string SecretHash)> _knownGood = new(StringComparer.Ordinal);
    private readonly byte[] _key = RandomNumberGenerator.GetBytes(32);

    public async ValueTask<bool> MaySignInAsync(string user, string password, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var hash = GatewayId.TryParse(user, out var id)
            ? await db.Gateways.Where(g => g.Id == id.Value).Select(g => g.SecretHash).SingleOrDefaultAsync(cancellationToken)
            : null;
        if (!SecretHash.Matches(password, hash ?? NobodysHash) || hash is null)
            return false;
        _knownGood[user] = (Mark(user, password), hash);
        return true;
    }

    public async ValueTask<bool> IsKnownGoodAsync(string user, string password, CancellationToken cancellationToken)
    {
        if (!_knownGood.TryGetValue(user, out var known) || !CryptographicOperations.FixedTimeEquals(Mark(user, password), known.Mark))
            return false;
        // The registry decides: a new password, by whichever process, ends what was good before.
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Gateways.AnyAsync(g => g.Id == user && g.SecretHash == known.SecretHash, cancellationToken);
    }

    public ValueTask<bool> KnowsSpotAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(catalogue.MayReport(gateway, spot));

    public ValueTask<DateTimeOffset?> MeasuredUntilAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(catalogue.MeasuredUntil(gateway, spot));

    public ValueTask<GatewayId?> GatewayOfAsync(SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(catalogue.Of(spot));

    private byte[] Mark(string user, string password) => HMACSHA256.HashData(_key, Encoding.UTF8.GetBytes($"{user}\n{password}"));
}
