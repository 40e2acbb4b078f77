using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Publishing;

internal static class PublishingServices
{
    public static IServiceCollection AddPublishing(this IServiceCollection services)
    {
        services.AddOptions<PublishingOptions>()
            .BindConfiguration("Publishing", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<PublishingOptions>, PublishingOptionsValidator>();
        services.TryAddSingleton(new NetworkTime(TimeProvider.System));
        services.AddSingleton<GatewayRun>();
        services.AddSingleton<StatusReporter>();
        services.AddHostedService<ReadingPublisher>();
        return services;
    }
}
