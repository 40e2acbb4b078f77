using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Sampling;

/// <summary>Sampling by the settings in use, whenever the server changes them.</summary>
internal sealed class LiveSampling(
    ServerSettings settings, IProbes probes, IOptions<SamplingOptions> options, LatestReadings latest) : ISampling
{
    private readonly SamplingRounds _rounds = new(probes, Options.Create(settings.Spots), options);

    public IReadOnlyList<ProbeSample> LatestSamples => _rounds.LatestSamples;

    public IReadOnlyList<Reading> Step(DateTimeOffset now)
    {
        _rounds.Use(settings.Spots);
        var readings = _rounds.Step(now);
        latest.Take(readings);
        return readings;
    }
}
