using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Server.Checks;

/// <summary>Hand-held checks and what they say of sensors and offsets.</summary>
internal static class ChecksServices
{
    public static IServiceCollection AddChecks(this IServiceCollection services)
    {
        services.AddSingleton<Thresholds>();
        services.AddSingleton<CheckComparison>();
        services.AddSingleton<CheckStore>();
        services.AddSingleton<IProbeReview, ProbeReview>();
        services.AddSingleton<ISpotChecks>(provider => provider.GetRequiredService<CheckStore>());
        return services;
    }
}
