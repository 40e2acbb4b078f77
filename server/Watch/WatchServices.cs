using Microsoft.Extensions.Options;
using PavementWatch.Dashboards;

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
        services.AddSingleton<SiteWeather>();
        services.AddSingleton<AlertBook>();
        services.AddSingleton<UnwrittenAlerts>();
        services.AddSingleton<SpotBoard>();
        services.AddSingleton<ISpotBoard>(provider => provider.GetRequiredService<SpotBoard>());
        services.AddSingleton<IGatewayBoard, GatewayBoard>();
        services.AddSingleton<WalkMarks>();
        services.AddSingleton<IOwnerLinks, OwnerLinks>();
        services.AddSingleton<ISpotDays, SpotDays>();
        services.AddHostedService<WatchService>();
        return services;
    }
}
