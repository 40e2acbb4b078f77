using System.Globalization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Ingest;

/// <summary>The way of a pack: read, checked, judged, stored durably, then told to the feed. Each thing kept out is counted and logged.</summary>
internal sealed class IngestPipeline(
    IReadingStore store,
    IGatewayDirectory directory,
    ReadingFeed feed,
    UnstoredReadings handedOn,
    PackQuarantine aside,
    PackLedger ledger,
    GatewayClocks clocks,
    ReadingJudge judge,
    IngestMetrics metrics,
    RefusalLog news,
    TimeProvider time,
    ILogger<IngestPipeline> logger)
{
    /// <summary>Longer the watch waits for no store; a commit takes a fraction of it.</summary>
    private static readonly TimeSpan LongestStore = TimeSpan.FromSeconds(2);

    /// <summary>Takes a pack and returns after its readings are durable, or cannot be.</summary>
    /// <remarks>
    /// The watch hears every reading, also one that is not kept just now, or not soon: what the ground is like does not wait for a disk
    /// or a clock. There is no way to cancel half-way. A sender that goes away meanwhile changes nothing.
    /// </remarks>
    /// <param name="gateway">Who sends it, as the broker knows.</param>
    /// <param name="payload">The pack.</param>
    /// <param name="origin">What it says of itself.</param>
    public async Task<IngestOutcome> AcceptAsync(GatewayId gateway, ReadOnlyMemory<byte> payload, PackOrigin origin)
    {
        var now = Milliseconds(time.GetUtcNow());
        var outcome = payload.Length > ReadingPack.MaxBytes
            ? TooLarge(gateway, payload.Length)
            : ReadingPack.Read(payload.Span, now) switch
            {
                ReadingPackOutcome.Malformed(var cause) => Refuse(gateway, IngestReason.Of(cause.Reason), cause.ToString()),
                ReadingPackOutcome.Parsed parsed => await TakeAsync(gateway, parsed, origin, now),
                var other => throw new InvalidOperationException($"no such outcome: {other.GetType().Name}"),
            };

        // What is sent back comes again under the same number.
        if (origin.Number is { } given && outcome is not (IngestOutcome.StorageFaults or IngestOutcome.OtherClock))
            Note(gateway, given);
        return outcome;
    }

    /// <summary>Stores readings that were set aside, also of spots that were removed since; to the watch they are history.</summary>
    /// <returns>How many were new; <c>null</c> when they still cannot be stored.</returns>
    public async Task<int?> StoreAsideAsync(ReadOnlyMemory<byte> payload, DateTimeOffset receivedAt)
    {
        if (ReadingPack.Read(payload.Span, receivedAt) is not ReadingPackOutcome.Parsed parsed)
            return null;
        var (stored, failure) = await StoreSpotBySpotAsync(
            [.. parsed.Readings.Concat(parsed.OtherClock).Select(reading => new StoredReading(reading, receivedAt))]);
        feed.Publish([.. stored.Select(one => new HeardReading(one.Reading, null))]);
        return failure is null ? stored.Count : null;
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

    private async Task<IngestOutcome> TakeAsync(
        GatewayId gateway, ReadingPackOutcome.Parsed parsed, PackOrigin origin, DateTimeOffset now)
    {
        List<HeardReading> heard = [];
        List<StoredReading> dated = [];
        List<Reading> known = [];
        HashSet<Reading> former = [];
        Dictionary<SpotId, NotMeasured> unknown = [];
        try
        {
            (known, former, unknown) = await SortBySpotAsync(gateway, [.. parsed.Readings, .. parsed.OtherClock]);
            // The age is that of the pack's newest, whoever may report on it.
            var newest = parsed.Readings.Concat(parsed.OtherClock).Select(reading => reading.MeasuredAt).DefaultIfEmpty(now).Max();
            // Queued somewhere in between it may be late by any time.
            if (origin is { Age: { } age, IsQueued: false } && known.Count > 0)
                clocks.HearPack(gateway, newest + age);
            // Of a spot that is another gateway's now they are history, however young: two must not take turns in the watch.
            heard = known.ConvertAll(reading => new HeardReading(reading, former.Contains(reading) ? null : origin.CountsAt(reading, newest, now)));
            // Where a broker in between has acknowledged the pack, nobody else keeps what is dated by another clock.
            var sentByOtherClock = origin.IsQueued ? [] : parsed.OtherClock.ToHashSet();
            var isOtherClock = known.ConvertAll(sentByOtherClock.Contains);
            heard = await JudgeAsync(heard);
            known = heard.ConvertAll(one => one.Reading);
            var otherClock = known.Where((_, i) => isOtherClock[i]).ToHashSet();
            dated = known.Where(reading => !otherClock.Contains(reading)).Select(reading => new StoredReading(reading, now)).ToList();

            var start = time.GetTimestamp();
            var fresh = await OrToldAsync(store.AppendAsync(dated, CancellationToken.None), heard);
            var commit = time.GetElapsedTime(start);

            var (old, waiting) = (dated.Count - fresh.Count, known.Count - dated.Count);
            var news = fresh.Select(stored => stored.Reading).ToHashSet();
            feed.Publish(handedOn.NotYetOfKept(heard.FindAll(one => news.Contains(one.Reading))));
            feed.Publish(handedOn.NotYet(heard.FindAll(one => otherClock.Contains(one.Reading))));
            var others = heard.FindAll(one => one.CountsAt is not null && !news.Contains(one.Reading) && !otherClock.Contains(one.Reading));
            feed.Publish(handedOn.NotYet(await OrToldAsync(NoRepeatsAsync(others), others)));
            metrics.Stored(fresh.Count, old, commit);
            Log.Stored(logger, gateway, fresh.Count, old, commit.TotalMilliseconds);
            aside.Forget(gateway);
            var refusals = Refusals(parsed, unknown);
            Tell(gateway, refusals);
            return waiting > 0
                ? Waits(gateway, fresh.Count, waiting, known.First(otherClock.Contains), now)
                : new IngestOutcome.Accepted(fresh.Count, old, refusals.Sum(refusal => refusal.Count), refusals.FirstOrDefault().Text);
        }
        catch (Exception failure) when (failure is ReadingStoreException or System.Data.Common.DbException or IOException)
        {
            feed.Publish(handedOn.NotYet(heard));
            if (failure is ReadingStoreException { Fault: StoreFault.Damaged } && aside.CountIsEnough(gateway))
            {
                // What another clock dated stays at the gateway, which sends it and the rest apart after this answer.
                if (dated.Count < known.Count)
                    return Waits(gateway, 0, known.Count - dated.Count, known.Except(dated.Select(one => one.Reading)).First(), now);
                if (await SetAsideAsync(gateway, parsed, unknown, dated, now) is { } done)
                    return done;
            }

            metrics.StorageFaults();
            if (news.IsNews(gateway.Value, IngestReason.SentBack))
                Log.SentBack(logger, gateway, parsed.Readings.Count, failure.Message);
            return new IngestOutcome.StorageFaults(failure.Message);
        }
        catch
        {
            // Whatever it is, the pack comes again, and the ground is as it says now.
            feed.Publish(handedOn.NotYet(heard));
            throw;
        }
    }

    /// <summary>What the store answers. Where it does not answer soon, the watch hears meanwhile what it is asked of.</summary>
    private async Task<T> OrToldAsync<T>(Task<T> answer, List<HeardReading> heard)
    {
        await ((Task)answer).WaitAsync(LongestStore, TimeProvider.System).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        if (!answer.IsCompleted)
            feed.Publish(handedOn.NotYet(heard));
        return await answer;
    }

    /// <summary>Each as it is to be stored and watched; a spot's in the order of their times, as each is judged by those before it.</summary>
    private async Task<List<HeardReading>> JudgeAsync(List<HeardReading> heard)
    {
        var judged = heard.ToArray();
        foreach (var i in Enumerable.Range(0, judged.Length).OrderBy(i => judged[i].CountsAt).ThenBy(i => judged[i].Reading.MeasuredAt))
            judged[i] = judged[i] with { Reading = await judge.JudgeAsync(judged[i].Reading, judged[i].CountsAt) };
        return [.. judged];
    }

    /// <summary>Stores what can be, and keeps the rest as a pack of its own.</summary>
    private async Task<IngestOutcome?> SetAsideAsync(
        GatewayId gateway, ReadingPackOutcome.Parsed parsed, Dictionary<SpotId, NotMeasured> unknown, List<StoredReading> dated, DateTimeOffset now)
    {
        var (stored, failure) = await StoreSpotBySpotAsync(dated);
        var refusals = Refusals(parsed, unknown);
        if (failure is null)
        {
            Tell(gateway, refusals);
            return new IngestOutcome.Accepted(stored.Count, dated.Count - stored.Count, refusals.Sum(refusal => refusal.Count), refusals.FirstOrDefault().Text);
        }

        // With what the store has already: it is left as it is there.
        var rest = dated.Except(stored).Select(one => one.Reading).ToList();
        if (await aside.PutAsync(gateway, now, ReadingPack.Write(rest)) is not { } path)
            return null;
        Tell(gateway, refusals);
        metrics.Refused(gateway, IngestReason.StoreDamaged, rest.Count);
        Log.PackSetAside(logger, gateway, path);
        return new IngestOutcome.SetAside($"{stored.Count} readings stored; the server's store is damaged and does not take the rest, which is set aside");
    }

    /// <summary>Damage has a place in the file, and a spot's readings stand together there.</summary>
    private async Task<(List<StoredReading> Stored, ReadingStoreException? Failure)> StoreSpotBySpotAsync(List<StoredReading> readings)
    {
        List<StoredReading> stored = [];
        ReadingStoreException? last = null;
        foreach (var spot in readings.GroupBy(one => one.Reading.Spot))
        {
            try
            {
                stored.AddRange(await store.AppendAsync([.. spot], CancellationToken.None));
            }
            catch (ReadingStoreException failure)
            {
                last = failure;
            }
        }

        return (stored, last);
    }

    /// <summary>Of readings that the store did not take, those of now that are no repeats: another stands there under the same moment.</summary>
    /// <remarks>A second probe at the spot, or a clock that was set back: the ground is as they say all the same.</remarks>
    private async Task<List<HeardReading>> NoRepeatsAsync(List<HeardReading> old)
    {
        List<HeardReading> others = [];
        foreach (var one in old)
        {
            var kept = await store.RangeAsync(
                one.Reading.Spot, one.Reading.MeasuredAt, one.Reading.MeasuredAt + TimeSpan.FromMilliseconds(1), CancellationToken.None);
            // Before a restart it may have been judged by what was known then; and no store keeps how far its samples lay apart.
            if (kept.All(stored => AsMeasured(stored.Reading) != AsMeasured(one.Reading)))
                others.Add(one);
        }

        return others;
    }

    private static Reading AsMeasured(Reading reading) => reading with { Quality = ReadingQuality.Good, Doubt = Doubt.None, SpreadKelvin = null };

    private IngestOutcome.OtherClock Waits(GatewayId gateway, int stored, int waiting, Reading first, DateTimeOffset now)
    {
        metrics.Refused(gateway, IngestReason.OtherClock, waiting);
        var outcome = new IngestOutcome.OtherClock(stored, waiting, string.Create(CultureInfo.InvariantCulture,
            $"{waiting} readings dated by another clock, the first of {first.Spot} at {first.MeasuredAt:u}; this server's clock says {now:u}. Keep them, set the clock that is wrong (timedatectl), and send them again"));
        if (news.IsNews(gateway.Value, IngestReason.OtherClock))
            Log.KeptOut(logger, gateway, IngestReason.OtherClock, outcome.Detail);
        return outcome;
    }

    /// <returns>Readings to keep; those among them of spots that were the gateway's when it took them; how many are of other spots.</returns>
    private async Task<(List<Reading> Known, HashSet<Reading> Former, Dictionary<SpotId, NotMeasured> Unknown)> SortBySpotAsync(
        GatewayId gateway, IReadOnlyList<Reading> readings)
    {
        var known = new List<Reading>(readings.Count);
        var former = new HashSet<Reading>();
        var unknown = new Dictionary<SpotId, NotMeasured>();
        foreach (var spot in readings.GroupBy(reading => reading.Spot))
        {
            if (await directory.KnowsSpotAsync(gateway, spot.Key, CancellationToken.None))
            {
                known.AddRange(spot);
                continue;
            }

            var until = await directory.MeasuredUntilAsync(gateway, spot.Key, CancellationToken.None);
            var before = spot.Where(reading => reading.MeasuredAt < until).ToList();
            known.AddRange(before);
            former.UnionWith(before);
            if (spot.Count() - before.Count is > 0 and var others)
                unknown[spot.Key] = new NotMeasured(others, until, await directory.GatewayOfAsync(spot.Key, CancellationToken.None));
        }

        return (known, former, unknown);
    }

    private static List<(string Reason, int Count, string Text)> Refusals(
        ReadingPackOutcome.Parsed parsed, Dictionary<SpotId, NotMeasured> unknown)
    {
        List<(string Reason, int Count, string Text)> refusals =
            [.. parsed.Refused.Select(refused => (IngestReason.Of(refused.Reason), 1, refused.ToString()))];
        foreach (var (spot, (count, until, owner)) in unknown)
            refusals.Add((IngestReason.UnknownSpot, count, $"{count} readings of spot '{spot}', {Advice(until, owner)}"));
        return refusals;
    }

    private static string Advice(DateTimeOffset? until, GatewayId? owner) => (until, owner) switch
    {
        ({ } at, { } other) => string.Create(
            CultureInfo.InvariantCulture, $"which belongs to gateway '{other}' since {at.UtcDateTime:yyyy-MM-dd HH:mm} UTC; take its probe out of this gateway's settings, or give the spot back to this gateway on its page or with: gateway edit"),
        (null, { } other) => $"which belongs to gateway '{other}'; correct this gateway's settings, or give it the spot on its page or with: gateway edit",
        ({ } at, null) => string.Create(
            CultureInfo.InvariantCulture, $"which was taken from this gateway at {at.UtcDateTime:yyyy-MM-dd HH:mm} UTC; take its probe out of this gateway's settings, or give the spot back to it on its page or with: gateway edit"),
        _ => "which this gateway does not measure; create the spot and give it this gateway, or correct the gateway's settings",
    };

    /// <summary>Readings of a spot that is not their gateway's.</summary>
    /// <param name="Count">How many.</param>
    /// <param name="Until">When it was taken from the gateway; <c>null</c> where it never was.</param>
    /// <param name="Owner">Whose it is.</param>
    private sealed record NotMeasured(int Count, DateTimeOffset? Until, GatewayId? Owner);

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
                if (news.IsNews(gateway.Value, IngestReason.PacksMissing))
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
