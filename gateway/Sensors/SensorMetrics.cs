using System.Diagnostics.Metrics;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors;

/// <summary>Counts samples that were refused.</summary>
internal sealed class SensorMetrics : IDisposable
{
    private readonly Meter _meter = new("PavementWatch.Gateway.Sensors");
    private readonly Counter<long> _rejected;

    public SensorMetrics() =>
        _rejected = _meter.CreateCounter<long>(
            "pavementwatch.samples.rejected", "{sample}", "Samples a probe did not give, by kind of probe and reason");

    /// <summary>One more.</summary>
    public void Rejected(ProbeKind kind, RejectReason reason) =>
        _rejected.Add(1, new("kind", kind.ToString()), new("reason", reason.ToString()));

    public void Dispose() => _meter.Dispose();
}
