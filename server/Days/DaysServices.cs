using PavementWatch.Dashboards.Days;

namespace PavementWatch.Server.Days;

/// <summary>Days of spots.</summary>
internal static class DaysServices
{
    public static IServiceCollection AddDays(this IServiceCollection services)
    {
        services.AddSingleton<DayCache>();
        services.AddSingleton<ISpotDays, SpotDays>();
        return services;
    }
}
