using Microsoft.Extensions.DependencyInjection.Extensions;

namespace PavementWatch.Server.Ingest;

/// <summary>Puts the way of readings into the host. Needs a store (<c>AddStore</c>) and an <see cref="IGatewayDirectory"/>.</summary>
internal static class IngestServices
{
    public static IServiceCollection AddIngest(this IServiceCollection services)
    {
        services.AddMetrics();
        services.TryAddSingleton(TimeProvider.System);
        services.AddSingleton(new ReadingFeed());
        services.AddSingleton<GatewayStatusBoard>();
        services.AddSingleton<PackLedger>();
        services.AddSingleton<IngestMetrics>();
        services.AddSingleton<RefusalLog>();
        services.AddSingleton<IngestPipeline>();
        return services;
    }
}
