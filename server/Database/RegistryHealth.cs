using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace PavementWatch.Server.Database;

/// <summary>Healthy when the registry answers.</summary>
internal sealed class RegistryHealth(IDbContextFactory<RegistryDb> registry) : IHealthCheck
{
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken)
    {
        try
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            var people = await db.People.CountAsync(cancellationToken);
            return HealthCheckResult.Healthy($"{people} people");
        }
        catch (SqliteException e)
        {
            return HealthCheckResult.Unhealthy("the registry does not answer; look at the disk and the data folder's rights", e);
        }
    }
}
