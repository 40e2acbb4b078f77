using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Sampling;

namespace PavementWatch.Gateway.Settings;

internal static class SettingsServices
{
    /// <summary>The gateway's name, and the server's settings over its own. After <see cref="SamplingServices.AddSampling"/>, whose sampling it leads.</summary>
    public static IServiceCollection AddServerSettings(this IServiceCollection services)
    {
        services.AddOptions<GatewayOptions>()
            .BindConfiguration("Gateway", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<GatewayOptions>, GatewayOptionsValidator>();
        services.AddSingleton<ServerSettings>();
        services.AddSingleton<ISampling, LiveSampling>();
        return services;
    }
}
