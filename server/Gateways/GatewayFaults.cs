using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Gateways;

/// <summary>Raises a fault for each gateway that is gone, for each spot that is measured no more, and for what gateways say ails them.</summary>
/// <remarks>
/// One message for one cause: of a gateway that is off its spots are not named, nor what it said before. It is counted by elapsed
/// time, so that a clock that is set neither makes a fault nor hides one. What was told, also before a restart, ends when the gateway says
/// that it is well, or the spot is measured again: one that is off ends nothing. These are faults out in the field, which
/// <c>/health/ready</c> is not of: the server itself can do its work.
/// </remarks>
internal sealed class GatewayFaults(
    GatewayCatalogue catalogue,
    GatewayStatusBoard statuses,
    SpotBoard board,
    SpotsWithoutProbe unprobed,
    IReadingStore store,
    ServiceFaults faults,
    IOptions<GatewayFaultOptions> options,
    TimeProvider time,
    ILogger<GatewayFaults> logger) : ServerBackgroundService
{
    private const int MostNames = 5;
    private static readonly TimeSpan Period = TimeSpan.FromMinutes(1);

    /// <summary>So long after a start, or after a gateway is back, it and its readings may still be on their way.</summary>
    private static readonly TimeSpan Settles = TimeSpan.FromMinutes(5);

    /// <summary>Rain keeps readings in doubt for hours; a window that says so for longer needs somebody.</summary>
    private static readonly TimeSpan LongestRain = TimeSpan.FromDays(1);

    private readonly long _start = time.GetTimestamp();
    private readonly SemaphoreSlim _one = new(1);
    private readonly Dictionary<GatewayId, (bool Online, long Since)> _presence = [];
    private readonly Dictionary<GatewayId, long> _probesFail = [];
    private readonly Dictionary<SpotId, (DateTimeOffset At, long Since)> _measured = [];
    private HashSet<string> _raised = new(StringComparer.Ordinal);

    public override void Dispose()
    {
        _one.Dispose();
        base.Dispose();
    }

    /// <summary>Raises what is wrong now, and ends what is not any more.</summary>
    public async Task LookAsync(CancellationToken cancellationToken)
    {
        await _one.WaitAsync(cancellationToken);
        try
        {
            var standing = new HashSet<string>(StringComparer.Ordinal);
            foreach (var (gateway, spots) in catalogue.All)
            {
                var status = statuses.Find(gateway);
                LookAtGateway(gateway, spots, status, standing);
                LookAtReport(gateway, status?.Report, standing);
                foreach (var spot in spots)
                    await LookAtSpotAsync(gateway, spot, status, standing, cancellationToken);
            }

            foreach (var ended in _raised.Concat(faults.ToldBefore.Keys.Where(IsOwn)).Except(standing).ToList())
                faults.End(ended);
            _raised = standing;
        }
        finally
        {
            _one.Release();
        }
    }

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(Period, time, LookAsync, logger.GatewaysNotLookedAt, stoppingToken);

    private void LookAtGateway(GatewayId gateway, IReadOnlyList<Spot> spots, GatewayStatus? status, HashSet<string> standing)
    {
        // One that was never heard of has not gone; somebody is on the way to mount it.
        if (status is null)
        {
            _presence.Remove(gateway);
            Keep(KeyOf(gateway), standing);
            return;
        }

        if (!_presence.TryGetValue(gateway, out var presence))
            _presence[gateway] = presence = (status.Online, status.Online ? Now : Ago(Newest(spots), options.Value.OfflineAfter));
        else if (presence.Online != status.Online)
            _presence[gateway] = presence = (status.Online, Now);
        if (presence.Online)
            return;
        if (!Lasted(presence.Since, options.Value.OfflineAfter) || !Lasted(_start, Settles))
        {
            Keep(KeyOf(gateway), standing);
            return;
        }

        var since = status.LastSeenAt is { } seen ? $"nothing has come from it since {Moment(seen)}" : "nothing has come from it since this server started";
        Raise(
            KeyOf(gateway),
            $"gateway {gateway} is off: {since}; {Names(spots)} estimated only until it is back. Look at its power and its network; 'check' on it says what is wrong",
            standing);
    }

    private void LookAtReport(GatewayId gateway, GatewayReport? report, HashSet<string> standing)
    {
        if (report is not { State: GatewayReport.Online })
        {
            // It is off, and says nothing of what it said before.
            foreach (var key in _raised.Concat(faults.ToldBefore.Keys).Where(key => key.StartsWith(KeyOf(gateway, ""), StringComparison.Ordinal)).ToList())
                Keep(key, standing);
            return;
        }

        var found = ReportedFaults.Of(report).ToLookup(fault => fault.Kind, fault => fault.Words);
        if (!found.Contains(ReportedFaults.Probes))
            _probesFail.Remove(gateway);
        else
            _probesFail.TryAdd(gateway, Now);
        foreach (var kind in found)
        {
            // A report is of one moment: a probe that failed once may be well again when the next comes.
            var isOnePart = kind.Key == ReportedFaults.Probes && !Lasted(_probesFail[gateway], options.Value.OfflineAfter) && !Stands(KeyOf(gateway, kind.Key));
            // Of clocks that differ the business has heard.
            var isKnown = kind.Key == ReportedFaults.Dates && faults.Standing.Any(fault => fault.Key == GatewayClocks.Key(gateway));
            if (!isOnePart && !isKnown)
                Raise(KeyOf(gateway, kind.Key), $"gateway {gateway}: {string.Join("; ", kind)}", standing);
        }
    }

    private async Task LookAtSpotAsync(GatewayId gateway, Spot spot, GatewayStatus? status, HashSet<string> standing, CancellationToken cancellationToken)
    {
        var key = $"spot.{spot.Id}";
        // One that was never measured is not missed yet.
        if (board.Find(spot.Id) is not { MeasuredAt: { } at } shown)
        {
            _measured.Remove(spot.Id);
            Keep(key, standing);
            return;
        }

        if (!_measured.TryGetValue(spot.Id, out var measured))
            _measured[spot.Id] = measured = (at, Ago(at, options.Value.SilentAfter));
        else if (measured.At != at)
            _measured[spot.Id] = measured = (at, Now);
        if (!Lasted(measured.Since, options.Value.SilentAfter))
            return;
        // What was told stands until it is measured again, also while its gateway is off.
        if (!Stands(key) && (!HasReadings(gateway, status) || unprobed.Of(gateway).Contains(spot)
            || (shown.Doubt.HasFlag(Doubt.Wet) && await IsRainAsync(spot, measured.Since, cancellationToken))))
            return;
        var doubt = shown.Doubt == Doubt.None ? "" : "; what came last is in doubt";
        Raise(
            key,
            $"{spot.Name}: no good reading since {Moment(at)}, though gateway {gateway} is to measure it{doubt}; it is estimated only. Look at its probe, the probe's window and its cable; 'check' on the gateway says what is wrong",
            standing);
    }

    /// <summary>Whether readings of the gateway's spots ought to be here by now.</summary>
    private bool HasReadings(GatewayId gateway, GatewayStatus? status) =>
        Lasted(_start, Settles) && (status is null || (_presence[gateway] is { Online: true, Since: var since } && Lasted(since, Settles)));

    private async Task<bool> IsRainAsync(Spot spot, long measured, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        try
        {
            return !Lasted(measured, LongestRain) && await store.LatestAsync(spot.Id, now, cancellationToken) is { } newest
                && newest.Reading.Doubt.HasFlag(Doubt.Wet) && now - newest.Reading.MeasuredAt < options.Value.SilentAfter;
        }
        catch (ReadingStoreException)
        {
            // Of a store that does not answer the business hears anyway.
            return true;
        }
    }

    private void Raise(string key, string words, HashSet<string> standing)
    {
        standing.Add(key);
        faults.Raise(key, words, failsHealth: false);
    }

    /// <summary>Whether a fault was told and not ended, in this run or before.</summary>
    private bool Stands(string key) => _raised.Contains(key) || faults.ToldBefore.ContainsKey(key);

    /// <summary>Leaves a fault standing that was told, as it was told.</summary>
    private void Keep(string key, HashSet<string> standing)
    {
        if (_raised.Contains(key))
            standing.Add(key);
        else if (faults.ToldBefore.TryGetValue(key, out var words))
            Raise(key, words, standing);
    }

    // By the clock by which the business page says since when it stands.
    private string Moment(DateTimeOffset at) => MomentTexts.InFull(at, CommonZone.Of(board));

    private DateTimeOffset? Newest(IReadOnlyList<Spot> spots) => spots.Select(spot => board.Find(spot.Id)?.MeasuredAt).Max();

    private long Now => time.GetTimestamp();

    /// <summary>The timestamp of a moment before now, as far back as matters; as far for one that is not known.</summary>
    private long Ago(DateTimeOffset? at, TimeSpan matters)
    {
        var age = at is { } known ? time.GetUtcNow() - known : matters;
        age = age < TimeSpan.Zero ? TimeSpan.Zero : age > matters ? matters : age;
        return Now - (long)(age.TotalSeconds * time.TimestampFrequency);
    }

    private bool Lasted(long since, TimeSpan span) => time.GetElapsedTime(since) >= span;

    private static bool IsOwn(string key) => key.StartsWith("gateway.", StringComparison.Ordinal) || key.StartsWith("spot.", StringComparison.Ordinal);

    private static string KeyOf(GatewayId gateway) => $"gateway.{gateway}";

    private static string KeyOf(GatewayId gateway, string kind) => $"gateway.{gateway}.{kind}";

    private static string Names(IReadOnlyList<Spot> spots) => spots.Count switch
    {
        0 => "it measures no spot; nothing is",
        1 => $"{spots[0].Name} is",
        <= MostNames => $"{SiteTexts.Names([.. spots.Select(spot => spot.Name)], MostNames)} are",
        _ => $"its {spots.Count} spots are",
    };
}
