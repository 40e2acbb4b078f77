using PavementWatch.Dashboards.Walks;

namespace PavementWatch.Server.Walks;

/// <summary>Walks as they are shown.</summary>
internal static class WalksServices
{
    public static IServiceCollection AddWalks(this IServiceCollection services)
    {
        services.AddSingleton<WalkDoses>();
        services.AddSingleton<IVisitorWalkQuery, VisitorWalkQuery>();
        services.AddSingleton<IOwnerLinks, OwnerLinks>();
        return services;
    }
}
