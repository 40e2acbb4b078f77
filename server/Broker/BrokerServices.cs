using Microsoft.Extensions.Options;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Store;

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
        services.AddSingleton(provider => Authority(provider));
        services.AddSingleton<SignInPolicy>();
        services.AddSingleton<GatewayQuota>();
        services.AddSingleton<BrokerAccess>();
        services.AddSingleton<Inbox>();
        services.AddSingleton<EmbeddedBroker>();
        services.AddSingleton<ExternalBroker>();
        services.AddSingleton<IBroker>(provider => Named(provider));
        services.AddSingleton(provider => (IHostedService)Named(provider));
        return services;
    }

    // By the people's clock: gateways and browsers judge certificates by the real time.
    private static OwnAuthority Authority(IServiceProvider provider)
    {
        var tls = provider.GetRequiredService<IOptions<BrokerOptions>>().Value.Tls;
        var store = Path.GetFullPath(provider.GetRequiredService<IOptions<StoreOptions>>().Value.Path);
        return new OwnAuthority(
            tls.Folder.Length > 0 ? Path.GetFullPath(tls.Folder) : Path.Combine(Path.GetDirectoryName(store) ?? ".", "tls"),
            tls.Names,
            provider.GetKeyedService<TimeProvider>(Clocks.People) ?? TimeProvider.System,
            provider.GetRequiredService<ILogger<OwnAuthority>>());
    }

    private static IBroker Named(IServiceProvider provider) =>
        provider.GetRequiredService<IOptions<BrokerOptions>>().Value.Kind == BrokerKind.External
            ? provider.GetRequiredService<ExternalBroker>()
            : provider.GetRequiredService<EmbeddedBroker>();
}
