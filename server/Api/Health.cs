using Microsoft.AspNetCore.Diagnostics.HealthChecks;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Access;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Api;

/// <summary>Whether the process lives, and whether each part can do its work.</summary>
internal static class Health
{
    public static void AddHealth(this IServiceCollection services) => services.AddHealthChecks()
        .AddCheck<StoreHealth>("store")
        .AddCheck<BrokerHealth>("broker");

    public static void MapHealth(this IEndpointRouteBuilder routes)
    {
        routes.MapHealthChecks("/health/live", new HealthCheckOptions { Predicate = _ => false }).AllowAnonymous();
        routes.MapHealthChecks("/health/ready", new HealthCheckOptions { ResponseWriter = WriteAsync }).AllowAnonymous();
    }

    /// <summary>Strangers get words; what a part says of itself may name hosts, files and keys of addresses, and is for the business.</summary>
    private static Task WriteAsync(HttpContext http, HealthReport report)
    {
        var isBusiness = http.User.IsInRole(Policies.Business);
        return http.Response.WriteAsJsonAsync(new
        {
            status = report.Status.ToString(),
            parts = report.Entries.ToDictionary(
                e => e.Key,
                e => isBusiness ? (object)new { status = e.Value.Status.ToString(), e.Value.Description } : new { status = e.Value.Status.ToString() }),
        });
    }

    private sealed class StoreHealth(IReadingStore store, TimeProvider time) : IHealthCheck
    {
        private static readonly SpotId Any = SpotId.Parse("health");
        private static readonly TimeSpan Longest = TimeSpan.FromSeconds(5);

        public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken)
        {
            try
            {
                var now = time.GetUtcNow();
                await Task.Run(() => store.RangeAsync(Any, now, now.AddMilliseconds(1), cancellationToken), cancellationToken).WaitAsync(Longest, TimeProvider.System, cancellationToken);
                return HealthCheckResult.Healthy("readings can be read");
            }
            catch (Exception e) when (e is not OperationCanceledException)
            {
                return HealthCheckResult.Unhealthy("the reading store does not answer; look at Store: in the settings and at its disk or server", e);
            }
        }
    }

    private sealed class BrokerHealth(IBroker broker) : IHealthCheck
    {
        public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken) =>
            Task.FromResult(broker.IsUp
                ? HealthCheckResult.Healthy("gateways can reach the server")
                : HealthCheckResult.Unhealthy("gateways cannot reach the server; look at Broker: in the settings"));
    }
}
