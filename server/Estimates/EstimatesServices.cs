using PavementWatch.Server.Plausibility;

namespace PavementWatch.Server.Estimates;

/// <summary>Estimates of the ground.</summary>
internal static class EstimatesServices
{
    public static IServiceCollection AddEstimates(this IServiceCollection services)
    {
        services.AddSingleton<SpotEstimates>();
        services.AddSingleton<IPastExpectations, PastExpectations>();
        return services;
    }
}
