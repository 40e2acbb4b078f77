using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Tca9548a;

namespace PavementWatch.Gateway.Sensors;

/// <summary>The probes of the settings, in the order of their names.</summary>
internal sealed class ProbeSet : IProbes
{
    private readonly Lock _lock = new();
    private readonly Multiplexers _multiplexers;
    private readonly Probe[] _probes;

    public ProbeSet(IOptions<ProbeTable> options, IBuses buses, SensorMetrics metrics, ILogger<ProbeSet> logger)
    {
        _multiplexers = new Multiplexers(buses);
        _probes = [.. options.Value
            .OrderBy(p => p.Key, StringComparer.Ordinal)
            .Select(p => new Probe(p.Key, p.Value, buses, _multiplexers, metrics, logger))];
    }

    public IReadOnlyList<ProbeSample> SampleAll(DateTimeOffset now)
    {
        // The service button's self-check may ask at the same time as the sampling; a sensor speaks to one at a time.
        lock (_lock)
        {
            var samples = new ProbeSample[_probes.Length];
            for (var i = 0; i < samples.Length; i++)
                samples[i] = _probes[i].Sample(now);
            return samples;
        }
    }

    public void Dispose()
    {
        foreach (var probe in _probes)
            probe.Dispose();
        _multiplexers.Dispose();
    }
}
