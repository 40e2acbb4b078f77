namespace PavementWatch.Server.Plausibility;

/// <summary>Judging readings as they come in. Needs a store (<c>AddStore</c>) and the spots (<c>AddSpots</c>).</summary>
internal static class PlausibilityServices
{
    public static IServiceCollection AddPlausibility(this IServiceCollection services)
    {
        services.AddSingleton<DoubtMetrics>();
        services.AddSingleton<ReadingJudge>();
        return services;
    }
}
