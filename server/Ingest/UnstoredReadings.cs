using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>Readings that the watch has heard and the store does not have: each is told once, however often its gateway sends it again.</summary>
internal sealed class UnstoredReadings
{
    /// <summary>Readings remembered; beyond that the oldest are forgotten, and would be told again.</summary>
    public const int Most = 100_000;

    private readonly Lock _lock = new();
    private readonly HashSet<Reading> _heard = [];
    private readonly Queue<Reading> _order = [];

    /// <summary>Those that were not told yet; from here on they count as told.</summary>
    public List<HeardReading> NotYet(IEnumerable<HeardReading> readings)
    {
        lock (_lock)
        {
            var fresh = readings.Where(one => _heard.Add(one.Reading)).ToList();
            foreach (var one in fresh)
                _order.Enqueue(one.Reading);
            while (_order.Count > Most)
                _heard.Remove(_order.Dequeue());
            return fresh;
        }
    }

    /// <summary>Those that were not told yet of some that the store has now: it keeps them from being told again.</summary>
    public List<HeardReading> NotYetOfKept(IEnumerable<HeardReading> readings)
    {
        lock (_lock)
            return [.. readings.Where(one => !_heard.Remove(one.Reading))];
    }
}
