using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Clock;

internal static class ClockServices
{
    public static IServiceCollection AddClock(this IServiceCollection services)
    {
        services.AddOptions<ClockOptions>()
            .BindConfiguration("Clock", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<ClockOptions>, ClockOptionsValidator>();
        services.TryAddSingleton(TimeProvider.System);
        services.TryAddSingleton<IWallClock, SystemClock>();
        services.AddSingleton<GatewayClock>();
        services.AddHostedService<ClockStart>();
        return services;
    }
}
