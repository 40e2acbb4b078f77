using PavementWatch.Server.Database;

namespace PavementWatch.Server.Spots;

/// <summary>The spots, in memory.</summary>
internal static class SpotsServices
{
    public static IServiceCollection AddSpots(this IServiceCollection services)
    {
        services.AddSingleton<SpotCatalogue>();
        services.AddSingleton<IReadAtStart>(provider => provider.GetRequiredService<SpotCatalogue>());
        return services;
    }
}
