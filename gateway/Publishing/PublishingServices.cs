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
        services.AddSingleton<LinkFault>();
        services.AddSingleton<StatusReporter>();
        services.AddSingleton<ReadingPublisher>();
        services.AddHostedService(provider => provider.GetRequiredService<ReadingPublisher>());
        return services;
    }
}
