using PavementWatch.Dashboards.Setup;

namespace PavementWatch.Server.Setup;

/// <summary>What the business sets up: spots and gateways.</summary>
internal static class SetupServices
{
    public static IServiceCollection AddSetup(this IServiceCollection services)
    {
        services.AddSingleton<SpotStore>();
        services.AddSingleton<ISetup, BusinessSetup>();
        return services;
    }
}
