using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Ds3231;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Sampling;

/// <summary>Enters probes and sampling into the host.</summary>
internal static class SamplingServices
{
    /// <summary>Settings <c>Probes</c>, <c>Spots</c>, <c>Sampling</c> and <c>ClockChip</c>, the probes, the clock chip, and <see cref="ISampling"/>.</summary>
    /// <remarks>The buses are the machine's own unless an <see cref="IBuses"/> is entered before.</remarks>
    public static IServiceCollection AddSampling(this IServiceCollection services)
    {
        services.AddProbes();
        services.AddSingleton<IValidateOptions<ProbeTable>, ProbeSpotsValidator>();
        AddTable<SamplingOptions, SamplingOptionsValidator>(services, "Sampling");
        AddTable<ClockChipOptions, ClockChipOptionsValidator>(services, "ClockChip");
        services.AddSingleton<IClockChip, ClockChip>();
        services.AddSingleton<LatestReadings>();
        services.AddSingleton<ISampling, SamplingRounds>();
        return services;
    }

    /// <summary>The probes alone: settings <c>Probes</c> and <c>Spots</c>, whether or not the two fit together yet.</summary>
    public static IServiceCollection AddProbes(this IServiceCollection services)
    {
        AddTable<SpotTable, SpotTableValidator>(services, "Spots");
        AddTable<ProbeTable, ProbeTableValidator>(services, "Probes");
        services.TryAddSingleton<IBuses>(_ => new HardwareBuses());
        services.TryAddSingleton(TimeProvider.System);
        services.AddSingleton<SensorMetrics>();
        services.AddSingleton<IProbes, ProbeSet>();
        return services;
    }

    private static void AddTable<TOptions, TValidator>(IServiceCollection services, string section)
        where TOptions : class
        where TValidator : class, IValidateOptions<TOptions>
    {
        services.AddOptions<TOptions>()
            .BindConfiguration(section, b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<TOptions>, TValidator>();
    }
}
