using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using PavementWatch.Dashboards.Faults;

namespace PavementWatch.Server.Faults;

/// <summary>Puts the list of standing faults into the host, with its part of <c>/health/ready</c>.</summary>
internal static class FaultsServices
{
    public static IServiceCollection AddFaults(this IServiceCollection services)
    {
        services.TryAddSingleton(TimeProvider.System);
        services.AddSingleton<ServiceFaults>();
        services.AddSingleton<IStandingFaults>(provider => provider.GetRequiredService<ServiceFaults>());
        services.AddHealthChecks().AddCheck<FaultsHealth>("faults");
        return services;
    }

    private sealed class FaultsHealth(ServiceFaults faults) : IHealthCheck
    {
        public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken) =>
            Task.FromResult(faults.Standing.Where(fault => fault.FailsHealth).ToList() is { Count: > 0 } standing
                ? HealthCheckResult.Unhealthy(string.Join("; ", standing.Select(fault => fault.Words)))
                : HealthCheckResult.Healthy("no faults stand"));
    }
}
