using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;

namespace PavementWatch.Server.Days;

/// <summary>Days that were made and are asked for again: open pages ask every half minute. The least lately used go first.</summary>
/// <param name="capacity">Most that are kept; each takes some tens of kilobytes.</param>
internal sealed class DayCache(int capacity = DayCache.DefaultCapacity)
{
    /// <summary>Most that are kept.</summary>
    public const int DefaultCapacity = 256;

    private readonly Lock _lock = new();
    private readonly Dictionary<(SpotId, DateOnly), LinkedListNode<Entry>> _entries = [];
    private readonly LinkedList<Entry> _used = [];

    /// <summary>How many there are.</summary>
    public int Count
    {
        get
        {
            lock (_lock)
                return _used.Count;
        }
    }

    /// <summary>The day as it was made of the same basis, or made now; once for all who ask meanwhile.</summary>
    public Task<SpotDay> GetAsync(SpotId spot, DateOnly day, DayBasis basis, Func<Task<SpotDay>> make)
    {
        Lazy<Task<SpotDay>> made;
        lock (_lock)
        {
            if (_entries.TryGetValue((spot, day), out var known))
            {
                _used.Remove(known);
                if (known.Value.Basis != basis || known.Value.HasFailed)
                    known.Value = new Entry(spot, day, basis, new(make));
            }
            else
            {
                if (_used.Count == capacity)
                {
                    _entries.Remove((_used.Last!.Value.Spot, _used.Last.Value.Day));
                    _used.RemoveLast();
                }

                _entries[(spot, day)] = known = new LinkedListNode<Entry>(new Entry(spot, day, basis, new(make)));
            }

            _used.AddFirst(known);
            made = known.Value.Made;
        }

        return made.Value;
    }

    private sealed record Entry(SpotId Spot, DateOnly Day, DayBasis Basis, Lazy<Task<SpotDay>> Made)
    {
        public bool HasFailed => Made is { IsValueCreated: true, Value: { IsCompleted: true, IsCompletedSuccessfully: false } };
    }
}
