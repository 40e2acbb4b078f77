using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Spots;

namespace PavementWatch.Server.Watch;

/// <summary>Watching the spots: alert machines, the board, the days.</summary>
internal static class WatchServices
{
    public static IServiceCollection AddWatch(this IServiceCollection services)
    {
        services.AddOptions<WatchOptions>()
            .BindConfiguration("Watch", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<WatchOptions>, WatchOptionsValidator>();
        services.AddSingleton<AlertStore>();
        services.AddSingleton<UnwrittenAlerts>();
        services.AddSingleton<PlannedWalks>();
        services.AddSingleton<SpotHistory>();
        services.AddSingleton<StandingNews>();
        services.AddSingleton<WatchMetrics>();
        services.AddSingleton<SpotBoard>();
        services.AddSingleton<ISpotBoard>(provider => provider.GetRequiredService<SpotBoard>());
        services.AddHostedService<WatchService>();
        return services;
    }
}
