using System.Collections.Concurrent;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>Which of each gateway's packs arrived, told from their numbers since the server started.</summary>
/// <remarks>
/// The first number seen of a run is where its count starts, as the server may have started later than the gateway.
/// A number that comes late closes its gap. At most <see cref="MostGaps"/> are remembered for a gateway.
/// </remarks>
internal sealed class PackLedger
{
    /// <summary>Missing numbers remembered for each gateway; beyond that the oldest are forgotten, still counted.</summary>
    public const int MostGaps = 1000;

    private readonly ConcurrentDictionary<GatewayId, Run> _runs = new();

    /// <summary>Notes a pack that arrived.</summary>
    public PackArrival Note(GatewayId gateway, PackNumber number) => _runs.GetOrAdd(gateway, _ => new Run()).Note(number);

    /// <summary>Numbers of the gateway's present run that have not arrived, in order.</summary>
    public IReadOnlyList<long> Missing(GatewayId gateway) => _runs.TryGetValue(gateway, out var run) ? run.Missing() : [];

    private sealed class Run
    {
        private readonly Lock _lock = new();
        private readonly SortedSet<long> _missing = [];
        private string? _boot;
        private long _highest;

        public PackArrival Note(PackNumber number)
        {
            lock (_lock)
            {
                if (_boot != number.Boot)
                {
                    (_boot, _highest) = (number.Boot, number.Sequence);
                    _missing.Clear();
                    return PackArrival.InOrder;
                }

                if (number.Sequence <= _highest)
                    return _missing.Remove(number.Sequence) ? PackArrival.Late : PackArrival.Again;

                var first = _highest + 1;
                _highest = number.Sequence;
                for (var gap = Math.Max(first, number.Sequence - MostGaps); gap < number.Sequence; gap++)
                    _missing.Add(gap);
                while (_missing.Count > MostGaps)
                    _missing.Remove(_missing.Min);
                var missing = number.Sequence - first;
                return missing > 0 ? new PackArrival(PackArrivalKind.AfterGap, first, missing) : PackArrival.InOrder;
            }
        }

        public IReadOnlyList<long> Missing()
        {
            lock (_lock)
                return [.. _missing];
        }
    }
}

/// <summary>How a pack's number stands to those before it.</summary>
/// <param name="Kind">Which case.</param>
/// <param name="FirstMissing">First number of the gap before it; 0 without one.</param>
/// <param name="MissingCount">How many are missing before it; 0 without a gap.</param>
internal readonly record struct PackArrival(PackArrivalKind Kind, long FirstMissing, long MissingCount)
{
    public static readonly PackArrival InOrder = new(PackArrivalKind.InOrder, 0, 0);
    public static readonly PackArrival Late = new(PackArrivalKind.Late, 0, 0);
    public static readonly PackArrival Again = new(PackArrivalKind.Again, 0, 0);
}

/// <summary>The cases of <see cref="PackArrival"/>.</summary>
internal enum PackArrivalKind
{
    /// <summary>The next one, or the first of a run.</summary>
    InOrder = 0,

    /// <summary>Packs before it have not arrived.</summary>
    AfterGap,

    /// <summary>It was missing, and now is not.</summary>
    Late,

    /// <summary>It arrived before: sent again after a lost acknowledgement.</summary>
    Again,
}
