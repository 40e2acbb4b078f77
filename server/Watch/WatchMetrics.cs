using System.Diagnostics.Metrics;

namespace PavementWatch.Server.Watch;

/// <summary>How long the watch takes. Meter <c>PavementWatch.Watch</c>.</summary>
internal sealed class WatchMetrics(IMeterFactory meters)
{
    public const string MeterName = "PavementWatch.Watch";

    private readonly Histogram<double> _tickSeconds = meters.Create(MeterName).CreateHistogram<double>(
        "pavementwatch.watch.tick", "s", "One look at every spot, until what it decided is written and shown");

    public void Ticked(TimeSpan took) => _tickSeconds.Record(took.TotalSeconds);
}
