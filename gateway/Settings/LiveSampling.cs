using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Settings;

/// <summary>Sampling by the settings in use: starts its interval anew when the server changes them.</summary>
internal sealed class LiveSampling(
    ServerSettings settings, IProbes probes, IOptions<SamplingOptions> options, LatestReadings latest) : ISampling
{
    private SpotTable? _spots;
    private SamplingRounds? _rounds;

    public IReadOnlyList<ProbeSample> LatestSamples { get; private set; } = [];

    public IReadOnlyList<Reading> Step(DateTimeOffset now)
    {
        var spots = settings.Spots;
        if (_rounds is null || !ReferenceEquals(spots, _spots))
        {
            _rounds = new SamplingRounds(probes, Options.Create(spots), options);
            _spots = spots;
        }
        var readings = _rounds.Step(now);
        LatestSamples = _rounds.LatestSamples;
        latest.Take(readings);
        return readings;
    }
}
