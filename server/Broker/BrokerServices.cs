using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Broker;

/// <summary>Puts the broker into the host. Needs <c>AddIngest</c> and <c>AddStore</c>.</summary>
internal static class BrokerServices
{
    /// <summary>Adds the <see cref="IBroker"/> that section <c>Broker</c> names; it starts and stops with the host.</summary>
    public static IServiceCollection AddBroker(this IServiceCollection services)
    {
        services.AddOptions<BrokerOptions>()
            .BindConfiguration("Broker", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<BrokerOptions>, BrokerOptionsValidator>();
        services.AddSingleton<Doorkeeper>();
        services.AddSingleton<Inbox>();
        services.AddSingleton<EmbeddedBroker>();
        services.AddSingleton<ExternalBroker>();
        services.AddSingleton<IBroker>(provider => Named(provider));
        services.AddSingleton(provider => (IHostedService)Named(provider));
        return services;
    }

    private static IBroker Named(IServiceProvider provider) =>
        provider.GetRequiredService<IOptions<BrokerOptions>>().Value.Kind == BrokerKind.External
            ? provider.GetRequiredService<ExternalBroker>()
            : provider.GetRequiredService<EmbeddedBroker>();
}
