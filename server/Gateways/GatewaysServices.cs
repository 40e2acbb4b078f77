using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Server.Database;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Gateways;

/// <summary>Gateways: taking them in, what each may do, their settings.</summary>
internal static class GatewaysServices
{
    public static IServiceCollection AddGateways(this IServiceCollection services)
    {
        services.AddOptions<EnrolmentOptions>()
            .BindConfiguration("Enrolment", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<EnrolmentOptions>, EnrolmentOptionsValidator>();
        services.AddSingleton<IGatewayDirectory, RegistryGatewayDirectory>();
        services.AddSingleton<IGatewayBoard, GatewayBoard>();
        services.AddSingleton<GatewayCatalogue>();
        services.AddSingleton<IReadAtStart>(provider => provider.GetRequiredService<GatewayCatalogue>());
        services.AddSingleton<GatewayStore>();
        services.AddSingleton<BrokerEndpoint>();
        services.AddSingleton<EnrolmentNote>();
        services.AddSingleton<EnrolmentCodeStore>();
        services.AddSingleton<SettingsPublisher>();
        services.AddHostedService(provider => provider.GetRequiredService<SettingsPublisher>());
        services.AddSingleton<SpotsWithoutProbe>();
        services.AddHostedService(provider => provider.GetRequiredService<SpotsWithoutProbe>());
        services.AddSingleton<ProbeBands>();
        services.AddHostedService(provider => provider.GetRequiredService<ProbeBands>());
        services.AddOptions<GatewayFaultOptions>()
            .BindConfiguration("Gateways", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<GatewayFaultOptions>, GatewayFaultOptionsValidator>();
        services.AddSingleton<GatewayFaults>();
        services.AddHostedService(provider => provider.GetRequiredService<GatewayFaults>());
        services.AddSingleton<GatewayRights>();
        services.AddHostedService(provider => provider.GetRequiredService<GatewayRights>());
        return services;
    }
}
