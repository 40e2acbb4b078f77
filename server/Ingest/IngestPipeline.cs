using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Ingest;

/// <summary>The way of a pack: read, checked, stored durably, then told to the feed. Each thing kept out is counted and logged.</summary>
internal sealed class IngestPipeline(
    IReadingStore store,
    IGatewayDirectory directory,
    ReadingFeed feed,
    PackLedger ledger,
    IngestMetrics metrics,
    RefusalLog news,
    TimeProvider time,
    ILogger<IngestPipeline> logger)
{
    /// <summary>Takes a pack and returns after its readings are durable, or cannot be.</summary>
    /// <remarks>
    /// There is no way to cancel half-way: once stored, a reading must also reach the feed, because sent again it is no
    /// longer new. A sender that goes away meanwhile changes nothing.
    /// </remarks>
    /// <param name="gateway">Who sends it, as the broker knows.</param>
    /// <param name="payload">The pack.</param>
    /// <param name="number">Its number, when it has one.</param>
    public async Task<IngestOutcome> AcceptAsync(GatewayId gateway, ReadOnlyMemory<byte> payload, PackNumber? number)
    {
        var now = Milliseconds(time.GetUtcNow());
        var outcome = payload.Length > ReadingPack.MaxBytes
            ? TooLarge(gateway, payload.Length)
            : ReadingPack.Read(payload.Span, now) switch
            {
                ReadingPackOutcome.Malformed(var cause) => Refuse(gateway, IngestReason.Of(cause.Reason), cause.ToString()),
                ReadingPackOutcome.Parsed parsed => await StoreAsync(gateway, parsed, now),
                var other => throw new InvalidOperationException($"no such outcome: {other.GetType().Name}"),
            };

        // What is sent back comes again under the same number.
        if (number is { } given && outcome is not IngestOutcome.Unavailable)
            Note(gateway, given);
        return outcome;
    }

    /// <summary>The outcome of a pack too large to be looked at.</summary>
    public IngestOutcome.Refused TooLarge(GatewayId gateway, long bytes) => Refuse(
        gateway, IngestReason.PayloadTooLarge,
        $"payload: found {bytes} B, expected at most {ReadingPack.MaxBytes} B; send a backlog as several packs");

    private IngestOutcome.Refused Refuse(GatewayId gateway, string reason, string detail)
    {
        metrics.Refused(gateway, reason);
        if (news.IsNews(gateway.Value, reason))
            Log.PackRefused(logger, gateway, reason, detail);
        return new IngestOutcome.Refused(reason, detail);
    }

    private async Task<IngestOutcome> StoreAsync(GatewayId gateway, ReadingPackOutcome.Parsed parsed, DateTimeOffset now)
    {
        try
        {
            var (known, unknown) = await SortBySpotAsync(gateway, parsed.Readings);
            var stored = known.ConvertAll(reading => new StoredReading(reading, now));

            var start = time.GetTimestamp();
            var fresh = await store.AppendAsync(stored, CancellationToken.None);
            var commit = time.GetElapsedTime(start);

            feed.Publish(fresh);
            metrics.Stored(fresh.Count, stored.Count - fresh.Count, commit);
            Log.Stored(logger, gateway, fresh.Count, stored.Count - fresh.Count, commit.TotalMilliseconds);
            var refusals = Refusals(parsed, unknown);
            Tell(gateway, refusals);
            return new IngestOutcome.Accepted(
                fresh.Count, stored.Count - fresh.Count, refusals.Sum(refusal => refusal.Count), refusals.FirstOrDefault().Text);
        }
        catch (Exception failure) when (failure is ReadingStoreException or System.Data.Common.DbException or IOException)
        {
            metrics.Unavailable();
            Log.SentBack(logger, gateway, parsed.Readings.Count, failure.Message);
            return new IngestOutcome.Unavailable(failure.Message);
        }
    }

    private async Task<(List<Reading> Known, Dictionary<SpotId, int> Unknown)> SortBySpotAsync(
        GatewayId gateway, IReadOnlyList<Reading> readings)
    {
        var known = new List<Reading>(readings.Count);
        var unknown = new Dictionary<SpotId, int>();
        foreach (var spot in readings.GroupBy(reading => reading.Spot))
        {
            if (await directory.KnowsSpotAsync(gateway, spot.Key, CancellationToken.None))
                known.AddRange(spot);
            else
                unknown[spot.Key] = spot.Count();
        }

        return (known, unknown);
    }

    private static List<(string Reason, int Count, string Text)> Refusals(
        ReadingPackOutcome.Parsed parsed, Dictionary<SpotId, int> unknown)
    {
        List<(string Reason, int Count, string Text)> refusals =
            [.. parsed.Refused.Select(refused => (IngestReason.Of(refused.Reason), 1, refused.ToString()))];
        foreach (var (spot, count) in unknown)
        {
            refusals.Add((
                IngestReason.UnknownSpot, count,
                $"{count} readings of spot '{spot}', which this gateway does not measure; create the spot and give it this gateway, or correct the gateway's settings"));
        }

        return refusals;
    }

    private void Tell(GatewayId gateway, List<(string Reason, int Count, string Text)> refusals)
    {
        foreach (var (reason, count, _) in refusals)
            metrics.Refused(gateway, reason, count);
        foreach (var (reason, _, text) in refusals)
        {
            if (news.IsNews(gateway.Value, reason))
                Log.KeptOut(logger, gateway, reason, text);
        }
    }

    private void Note(GatewayId gateway, PackNumber number)
    {
        switch (ledger.Note(gateway, number))
        {
            case { Kind: PackArrivalKind.AfterGap } gap:
                metrics.Missing(gap.MissingCount);
                Log.PacksMissing(logger, gateway, gap.MissingCount, gap.FirstMissing);
                break;
            case { Kind: PackArrivalKind.Late }:
                metrics.Late();
                break;
        }
    }

    // The store keeps whole milliseconds; what the feed tells is what the store gives back.
    private static DateTimeOffset Milliseconds(DateTimeOffset moment) =>
        DateTimeOffset.FromUnixTimeMilliseconds(moment.ToUnixTimeMilliseconds());
}
