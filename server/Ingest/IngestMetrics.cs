using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>What came in and what was kept out, counted. Meter <c>PavementWatch.Ingest</c>.</summary>
internal sealed class IngestMetrics
{
    public const string MeterName = "PavementWatch.Ingest";

    private readonly Counter<long> _stored;
    private readonly Counter<long> _duplicates;
    private readonly Counter<long> _refused;
    private readonly Counter<long> _missingPacks;
    private readonly Counter<long> _unavailable;
    private readonly Histogram<double> _commitSeconds;
    private readonly ConcurrentDictionary<GatewayId, long> _refusedBy = new();

    public IngestMetrics(IMeterFactory meters, ReadingFeed feed)
    {
        var meter = meters.Create(MeterName);
        _stored = meter.CreateCounter<long>("pavementwatch.ingest.stored", "{reading}", "Readings that were new and are durable");
        _duplicates = meter.CreateCounter<long>("pavementwatch.ingest.duplicate", "{reading}", "Readings the store had already");
        _refused = meter.CreateCounter<long>("pavementwatch.ingest.refused", "{item}", "Records, readings, packs and connections kept out, by reason");
        _missingPacks = meter.CreateCounter<long>("pavementwatch.ingest.missing", "{pack}", "Packs whose numbers were skipped; late ones are taken off again by reason=late");
        _unavailable = meter.CreateCounter<long>("pavementwatch.ingest.unavailable", "{pack}", "Packs sent back because the store or the registry failed");
        _commitSeconds = meter.CreateHistogram<double>("pavementwatch.ingest.commit", "s", "From handing readings to the store until they are durable");
        meter.CreateObservableCounter("pavementwatch.ingest.overflow", () => feed.OverflowCount, "{reading}", "Readings a slow reader of the feed missed");
    }

    public void Stored(int fresh, int duplicates, TimeSpan commit)
    {
        _stored.Add(fresh);
        _duplicates.Add(duplicates);
        _commitSeconds.Record(commit.TotalSeconds);
    }

    public void Refused(string reason, int count = 1) => _refused.Add(count, new KeyValuePair<string, object?>("reason", reason));

    /// <summary>The same, and whose it was.</summary>
    public void Refused(GatewayId gateway, string reason, int count = 1)
    {
        Refused(reason, count);
        _refusedBy.AddOrUpdate(gateway, count, (_, before) => before + count);
    }

    /// <summary>What of this gateway was kept out since the start.</summary>
    public long RefusedBy(GatewayId gateway) => _refusedBy.GetValueOrDefault(gateway);

    public void Missing(long count) => _missingPacks.Add(count, new KeyValuePair<string, object?>("reason", "gap"));

    public void Late() => _missingPacks.Add(1, new KeyValuePair<string, object?>("reason", "late"));

    public void StorageFaults() => _unavailable.Add(1);
}
