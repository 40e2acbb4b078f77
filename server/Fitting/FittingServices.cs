using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Analyst;

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
        services.AddSingleton<FitBook>();
        services.AddSingleton<FitRunner>();
        services.AddHostedService<NightlyFits>();
        services.AddSingleton<FitDecisions>();
        services.AddSingleton<Residuals>();
        services.AddSingleton<IAnalystDesk, AnalystDesk>();
        services.AddSingleton<Backtests>();
        services.AddSingleton<IBacktests>(provider => provider.GetRequiredService<Backtests>());
        services.AddHostedService(provider => provider.GetRequiredService<Backtests>());
        return services;
    }
}
