using System.Globalization;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Ingest;

/// <summary>How far the gateways' clocks are from this server's, told from their statuses; says so where they differ too much.</summary>
/// <remarks>
/// What a gateway said is set against this server's steady time, which nobody sets: a server whose own clock is set meanwhile
/// sees the difference at once. Statuses say it, and between them packs whose newest reading has an age. Both can be late but never early, so a gateway that seems behind is believed the second time.
/// </remarks>
internal sealed class GatewayClocks(ServiceFaults faults, IOptions<IngestOptions> options, TimeProvider time)
{
    // A gateway says how it is every ten minutes; one that has not for long says nothing of the clock now.
    private static readonly TimeSpan Heard = TimeSpan.FromMinutes(30);

    private readonly Lock _lock = new();
    private readonly Dictionary<GatewayId, Told> _told = [];
    private readonly long _start = time.GetTimestamp();
    private DateTimeOffset _lookedOverSteady;

    /// <summary>
    /// Whether this server's own clock may be the wrong one: at least half of the gateways that were heard differ from it
    /// in the same direction. What ends by the calendar is better left to stand meanwhile.
    /// </summary>
    public bool IsOwnInDoubt
    {
        get
        {
            lock (_lock)
            {
                var ahead = Standing_NeedsLock().Select(Ahead).ToList();
                var most = Math.Max(ahead.Count(a => a > options.Value.ClockTolerance), ahead.Count(a => a < -options.Value.ClockTolerance));
                return most > 0 && 2 * most >= ahead.Count;
            }
        }
    }

    /// <summary>Takes what a gateway said its clock shows, just now.</summary>
    public void Hear(GatewayId gateway, DateTimeOffset shows)
    {
        lock (_lock)
        {
            var told = new Told(gateway, shows - Steady, Steady, IsBelieved: true);
            if (Ahead(told) < -options.Value.ClockTolerance)
                told = told with { IsBelieved = _told.TryGetValue(gateway, out var before) && Ahead(before) < -options.Value.ClockTolerance };
            _told[gateway] = told;
        }

        Look();
    }

    /// <summary>Takes what a pack says of its gateway's clock: the date of its newest reading and that reading's age. Nearly always nothing new, and cheap then.</summary>
    public void HearPack(GatewayId gateway, DateTimeOffset shows)
    {
        var step = options.Value.ClockTolerance / 4;
        lock (_lock)
        {
            var isOwnAsBefore = (time.GetUtcNow() - Steady - _lookedOverSteady).Duration() <= step;
            if (isOwnAsBefore && _told.TryGetValue(gateway, out var known) && known.IsBelieved && (shows - Steady - known.OverSteady).Duration() <= step)
                return;
        }

        Hear(gateway, shows);
    }

    /// <summary>Forgets a gateway that was removed.</summary>
    public void Forget(GatewayId gateway)
    {
        lock (_lock)
            _told.Remove(gateway);
        faults.End(Key(gateway));
    }

    /// <summary>Sets what the gateways said against the clock again: it may have been set since.</summary>
    public void Look()
    {
        lock (_lock)
        {
            _lookedOverSteady = time.GetUtcNow() - Steady;
            foreach (var silent in _told.Values.Where(told => Steady - told.At > Heard).ToList())
            {
                _told.Remove(silent.Gateway);
                faults.End(Key(silent.Gateway));
            }

            foreach (var told in _told.Values)
            {
                var ahead = Ahead(told);
                if (ahead.Duration() <= options.Value.ClockTolerance)
                    faults.End(Key(told.Gateway));
                else if (told.IsBelieved)
                    faults.Raise(Key(told.Gateway), Words(told.Gateway, ahead));
            }
        }
    }

    private TimeSpan Steady => time.GetElapsedTime(_start);

    /// <summary>Name of the fault of a gateway's clock.</summary>
    public static string Key(GatewayId gateway) => $"clock.{gateway}";

    private TimeSpan Ahead(Told told) => told.OverSteady + Steady - time.GetUtcNow();

    private List<Told> Standing_NeedsLock() => [.. _told.Values.Where(told => told.IsBelieved && Steady - told.At <= Heard)];

    private string Words(GatewayId gateway, TimeSpan ahead) => string.Create(
        CultureInfo.InvariantCulture,
        $"gateway {gateway}: its clock is {Span(ahead.Duration())} {(ahead > TimeSpan.Zero ? "ahead of" : "behind")} this server's, expected within {Span(options.Value.ClockTolerance)}; run timedatectl on both to see which is wrong, and set that one. Warnings go on by the age the gateway gives its readings; readings dated too far from this server's clock wait at the gateway");

    private static string Span(TimeSpan span) => span switch
    {
        { TotalMinutes: < 2 } => string.Create(CultureInfo.InvariantCulture, $"{span.TotalSeconds:F0} s"),
        { TotalHours: < 2 } => string.Create(CultureInfo.InvariantCulture, $"{span.TotalMinutes:F0} min"),
        { TotalDays: < 2 } => string.Create(CultureInfo.InvariantCulture, $"{span.TotalHours:F1} h"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{span.TotalDays:F0} days"),
    };

    /// <summary>What a gateway said last.</summary>
    /// <param name="Gateway">Which.</param>
    /// <param name="OverSteady">Its clock when the steady time was nothing.</param>
    /// <param name="At">When it said so, by the steady time.</param>
    /// <param name="IsBelieved">Whether lateness on the way cannot be the reason.</param>
    private sealed record Told(GatewayId Gateway, DateTimeOffset OverSteady, TimeSpan At, bool IsBelieved);
}
