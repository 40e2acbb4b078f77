using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Sampling;

/// <summary>The gateway's spots and probes together; see <see cref="ISampling"/>.</summary>
internal sealed class SamplingRounds : ISampling
{
    private readonly IProbes _probes;
    private readonly TimeSpan _interval;
    private readonly (string Name, SpotSampler Sampler)[] _spots;
    private DateTimeOffset _intervalStart = DateTimeOffset.MinValue;
    private DateTimeOffset _last = DateTimeOffset.MinValue;

    public SamplingRounds(IProbes probes, IOptions<SpotTable> spots, IOptions<SamplingOptions> options)
    {
        _probes = probes;
        _interval = options.Value.Interval;
        _spots = [.. spots.Value
            .OrderBy(s => s.Key, StringComparer.Ordinal)
            .Select(s => (s.Key, new SpotSampler(SpotId.Parse(s.Key), s.Value, options.Value)))];
    }

    public IReadOnlyList<ProbeSample> LatestSamples { get; private set; } = [];

    /// <summary>Goes on by other settings of the same spots; a spot whose settings are equal does not notice.</summary>
    public void Use(SpotTable settings)
    {
        foreach (var (name, sampler) in _spots)
        {
            if (settings.TryGetValue(name, out var options))
                sampler.Use(options);
        }
    }

    public IReadOnlyList<Reading> Step(DateTimeOffset now)
    {
        // The clock above never goes back; should it, we wait until it has caught up rather than reorder.
        if (now <= _last)
            return [];
        _last = now;

        List<Reading> due = [];
        var start = new DateTimeOffset(now.UtcTicks - (now.UtcTicks % _interval.Ticks), TimeSpan.Zero);
        if (start > _intervalStart)
        {
            foreach (var (_, spot) in _spots)
            {
                // After a gap the interval still ends where it was meant to.
                if (_intervalStart > DateTimeOffset.MinValue && spot.Close(_intervalStart + _interval) is { } reading)
                    due.Add(reading);
            }

            _intervalStart = start;
        }

        LatestSamples = _probes.SampleAll(now);
        var at = new DateTimeOffset(now.UtcTicks - (now.UtcTicks % TimeSpan.TicksPerMillisecond), TimeSpan.Zero);
        foreach (var (_, spot) in _spots)
        {
            spot.Take(now, LatestSamples);
            if (spot.Early(at) is { } reading)
                due.Add(reading);
        }

        return due;
    }
}
