using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Hosting;

/// <summary>What a gateway's host is made from.</summary>
internal sealed class GatewayHostOptions
{
    /// <summary>The settings; the caller decides from where.</summary>
    public required IConfiguration Settings { get; init; }

    /// <summary>The clock; physical time unless given.</summary>
    public TimeProvider Time { get; init; } = TimeProvider.System;

    /// <summary>What simulated probes measure; the machine's own buses when <c>null</c>.</summary>
    public Func<SpotId, DateTimeOffset, TrueValues>? World { get; init; }

    /// <summary>The clock of that world, where nobody sets it; <see cref="Time"/> unless given.</summary>
    public TimeProvider? WorldTime { get; init; }

    /// <summary>Whether to leave out everything but the probes.</summary>
    public bool ProbesOnly { get; init; }

    /// <summary>Where log messages go; nowhere unless set.</summary>
    public Action<ILoggingBuilder> Logging { get; init; } = _ => { };

    /// <summary>What the caller adds or stands in for; entered before the gateway's own parts.</summary>
    public Action<IServiceCollection> Services { get; init; } = _ => { };
}

/// <summary>A gateway as a host of its own: in its program, in the demo, in tests.</summary>
internal static class GatewayHost
{
    /// <summary>Puts the gateway together. Settings are looked at when the host starts.</summary>
    public static IHost Build(GatewayHostOptions options)
    {
        // Empty: several gateways run in one process in the demo, and none may read the others' files or environment.
        var builder = Host.CreateEmptyApplicationBuilder(new HostApplicationBuilderSettings { DisableDefaults = true });
        builder.Configuration.AddConfiguration(options.Settings);
        builder.Logging.AddConfiguration(builder.Configuration.GetSection("Logging"));
        options.Logging(builder.Logging);
        builder.Services.AddSingleton(options.Time);
        if (options.World is { } world)
        {
            builder.Services.AddSingleton<IBuses>(provider => SimulatedBuses.For(
                provider.GetRequiredService<IOptions<ProbeTable>>().Value,
                provider.GetRequiredService<IOptions<SpotTable>>().Value,
                new SimulatedWorld(world, options.WorldTime ?? options.Time)));
        }
        builder.Services.AddSingleton<IHostLifetime, EmbeddedLifetime>();
        options.Services(builder.Services);
        if (options.ProbesOnly)
            builder.Services.AddProbes();
        else
            builder.Services.AddGateway();
        return builder.Build();
    }
}
