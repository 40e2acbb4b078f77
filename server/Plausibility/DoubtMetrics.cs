using System.Diagnostics.Metrics;
using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Plausibility;

/// <summary>What was doubted of readings as they came in, and what explained them, counted. Meter <c>PavementWatch.Plausibility</c>.</summary>
internal sealed class DoubtMetrics
{
    public const string MeterName = "PavementWatch.Plausibility";

    private readonly Counter<long> _doubted;
    private readonly Counter<long> _explained;

    public DoubtMetrics(IMeterFactory meters)
    {
        var meter = meters.Create(MeterName);
        _doubted = meter.CreateCounter<long>("pavementwatch.plausibility.doubted", "{reading}", "Readings of now that are kept in doubt, by each of their doubts, whoever has it");
        _explained = meter.CreateCounter<long>("pavementwatch.plausibility.explained", "{reading}", "Readings that looked too cool and are believed, by what explains them");
    }

    public void Judged(JudgedReading judged)
    {
        if (judged.Reading.Quality != ReadingQuality.Good)
        {
            foreach (var doubt in Doubts.Text(judged.Reading.Doubt).Split(',', StringSplitOptions.RemoveEmptyEntries))
                _doubted.Add(1, Reason(doubt));
        }

        if (judged.Explanation != Explanation.None)
            _explained.Add(1, Reason(judged.Explanation.ToString()));
    }

    private static KeyValuePair<string, object?> Reason(string reason) => new("reason", reason);
}
