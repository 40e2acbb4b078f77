using PavementWatch.Dashboards.Analyst;

namespace PavementWatch.Server.Analyst;

/// <summary>What the analyst reads.</summary>
internal static class AnalystServices
{
    public static IServiceCollection AddAnalyst(this IServiceCollection services)
    {
        services.AddSingleton<Residuals>();
        services.AddSingleton<IAnalystQuery, AnalystQuery>();
        services.AddSingleton<Backtests>();
        services.AddSingleton<IBacktests>(provider => provider.GetRequiredService<Backtests>());
        services.AddHostedService(provider => provider.GetRequiredService<Backtests>());
        return services;
    }
}
