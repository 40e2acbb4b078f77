using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Outbox;

internal static class OutboxServices
{
    public static IServiceCollection AddOutbox(this IServiceCollection services)
    {
        services.AddOptions<OutboxOptions>()
            .BindConfiguration("Outbox", binder => binder.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<OutboxOptions>, OutboxOptionsValidator>();
        services.AddSingleton<ReadingOutbox>();
        return services;
    }
}
