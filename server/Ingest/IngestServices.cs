using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Ingest;

/// <summary>Puts the way of readings into the host. Needs <c>AddFaults</c>, a store (<c>AddStore</c>), the spots (<c>AddSpots</c>) and an <see cref="IGatewayDirectory"/>.</summary>
internal static class IngestServices
{
    public static IServiceCollection AddIngest(this IServiceCollection services)
    {
        services.AddMetrics();
        services.TryAddSingleton(TimeProvider.System);
        services.AddSingleton(new ReadingFeed());
        services.AddSingleton<GatewayStatusBoard>();
        services.AddOptions<IngestOptions>()
            .Configure<IOptions<WatchOptions>>((ingest, watch) => ingest.ClockTolerance = IngestOptions.ToleranceAt(watch.Value.Interval))
            .BindConfiguration("Ingest", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<IngestOptions>, IngestOptionsValidator>();
        services.AddPlausibility();
        services.AddSingleton<GatewayClocks>();
        services.AddSingleton<PackLedger>();
        services.AddSingleton<IngestMetrics>();
        services.AddSingleton<RefusalLog>();
        services.AddSingleton<UnstoredReadings>();
        services.AddSingleton<PackQuarantine>();
        services.AddSingleton<IngestPipeline>();
        services.AddHostedService<PackQuarantineReplay>();
        return services;
    }
}
