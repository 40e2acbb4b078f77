using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Setup;

namespace PavementWatch.Server.Enrolment;

/// <summary>Taking gateways in: codes, credentials, the broker's authority.</summary>
internal static class EnrolmentServices
{
    public static IServiceCollection AddEnrolment(this IServiceCollection services)
    {
        services.AddOptions<EnrolmentOptions>()
            .BindConfiguration("Enrolment", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<EnrolmentOptions>, EnrolmentOptionsValidator>();
        services.AddSingleton<GatewayDoor>();
        services.AddSingleton<EnrolmentNote>();
        services.AddSingleton<EnrolmentDesk>();
        services.AddSingleton<SettingsCourier>();
        services.AddHostedService(provider => provider.GetRequiredService<SettingsCourier>());
        services.AddSingleton<GatewayRights>();
        services.AddHostedService(provider => provider.GetRequiredService<GatewayRights>());
        services.AddSingleton<ISetup, BusinessSetup>();
        return services;
    }
}
