using Microsoft.Extensions.Options;

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
        return services;
    }
}
