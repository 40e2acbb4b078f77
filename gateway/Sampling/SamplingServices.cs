using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Sampling;

/// <summary>Enters probes and sampling into the host.</summary>
internal static class SamplingServices
{
    /// <summary>Settings <c>Probes</c>, <c>Spots</c> and <c>Sampling</c>, the probes, and <see cref="ISampling"/>.</summary>
    /// <remarks>The buses are the machine's own unless an <see cref="IBuses"/> is entered before.</remarks>
    public static IServiceCollection AddSampling(this IServiceCollection services)
    {
        AddTable<SpotTable, SpotTableValidator>(services, "Spots");
        AddTable<ProbeTable, ProbeTableValidator>(services, "Probes");
        AddTable<SamplingOptions, SamplingOptionsValidator>(services, "Sampling");
        services.TryAddSingleton<IBuses, HardwareBuses>();
        services.AddSingleton<SensorMetrics>();
        services.AddSingleton<IProbes, ProbeSet>();
        services.AddSingleton<ISampling, SamplingRounds>();
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
