using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace PavementWatch.Server.Database;

/// <summary>Healthy when the registry answers.</summary>
internal sealed class RegistryHealth(IDbContextFactory<RegistryDb> registry) : IHealthCheck
{
    private static readonly TimeSpan Longest = TimeSpan.FromSeconds(5);

    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken)
    {
        try
        {
            // It may answer on the calling thread, or not at all.
            var people = await Task.Run(CountAsync, cancellationToken).WaitAsync(Longest, TimeProvider.System, cancellationToken);
            return HealthCheckResult.Healthy($"{people} people");
        }
        catch (Exception e) when (e is SqliteException or TimeoutException)
        {
            return HealthCheckResult.Unhealthy("the registry does not answer; look at the disk and the data folder's rights", e);
        }
    }

    private async Task<int> CountAsync()
    {
        await using var db = await registry.CreateDbContextAsync();
        return await db.People.CountAsync();
    }
}
