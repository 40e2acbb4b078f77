using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Fitting;

/// <summary>Nightly and asked-for fits of the offset.</summary>
internal static class FittingServices
{
    public static IServiceCollection AddFitting(this IServiceCollection services)
    {
        services.AddOptions<FittingOptions>()
            .BindConfiguration("Fitting", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<FittingOptions>, FittingOptionsValidator>();
        services.AddSingleton<FitStore>();
        services.AddSingleton<FitRunner>();
        services.AddHostedService<NightlyFits>();
        services.AddSingleton<FitDecisions>();
        return services;
    }
}
