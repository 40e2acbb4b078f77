using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Registry;

/// <summary>Answers the broker from the registry: who may sign in, and which gateway measures which spot.</summary>
internal sealed class RegistryGatewayDirectory(IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue)
    : IGatewayDirectory
{
    // A wrong name costs as much time as a wrong password, so names cannot be found out by the clock.
    private static readonly string NobodysHash = SecretHash.Of("nobody");

    public async ValueTask<bool> MaySignInAsync(string user, string password, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var hash = GatewayId.TryParse(user, out var id)
            ? await db.Gateways.Where(g => g.Id == id.Value).Select(g => g.SecretHash).SingleOrDefaultAsync(cancellationToken)
            : null;
        return SecretHash.Matches(password, hash ?? NobodysHash) && hash is not null;
    }

    public ValueTask<bool> KnowsSpotAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
        ValueTask.FromResult(catalogue.MayReport(gateway, spot));
}
