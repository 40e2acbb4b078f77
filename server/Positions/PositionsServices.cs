namespace PavementWatch.Server.Positions;

/// <summary>Positions that people share.</summary>
internal static class PositionsServices
{
    public static IServiceCollection AddPositions(this IServiceCollection services)
    {
        services.AddSingleton<SharedPositions>();
        return services;
    }
}
