using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace PavementWatch.Server.Registry;

/// <summary>Healthy when the registry answers.</summary>
internal sealed class RegistryHealth(IDbContextFactory<RegistryDb> registry) : IHealthCheck
{
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken)
    {
        try
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            var spots = await db.Spots.CountAsync(s => s.RemovedAt == null, cancellationToken);
            return HealthCheckResult.Healthy($"{spots} spots");
        }
        catch (SqliteException e)
        {
            return HealthCheckResult.Unhealthy("the registry does not answer; look at the disk and the data folder's rights", e);
        }
    }
}
