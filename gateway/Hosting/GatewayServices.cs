using PavementWatch.Gateway.Checks;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Hosting;

internal static class GatewayServices
{
    /// <summary>Everything between the probes and the broker. Time comes from the <see cref="TimeProvider"/> entered before; the system's unless there is one.</summary>
    public static IServiceCollection AddGateway(this IServiceCollection services)
    {
        services.AddClock();
        services.AddOutbox();
        services.AddSampling();
        services.AddServerSettings();
        services.AddPublishing();
        services.AddChecks();
        services.AddPanel();
        // Last: hosted services stop in reverse order, and sampling ends before the connection does.
        services.AddSingleton<OutboxFiller>();
        services.AddHostedService(provider => provider.GetRequiredService<OutboxFiller>());
        return services;
    }
}
