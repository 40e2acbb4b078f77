using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

/// <summary>What waits in memory while the disk takes nothing: bounded, thinned like the file. Not safe for threads.</summary>
internal sealed class MemoryOutbox(int capacity)
{
    private readonly List<(long Number, TakenReading Taken, bool Thinned)> _entries = [];
    private long _next = -1;
    private readonly HashSet<long> _putOff = [];
    private long _handedOver;

    public int Count => _entries.Count;

    /// <summary>Counts that the file does not have yet.</summary>
    public Dictionary<OutboxCount, long> Counts { get; } = [];

    /// <summary>Whether any of them may have gone to the broker.</summary>
    public bool IsHandedOver => _entries.Exists(entry => entry.Number >= _handedOver);

    /// <summary>Notes that readings are about to go to the broker.</summary>
    public void HandOver(IReadOnlyCollection<long> numbers) => _handedOver = Math.Min(_handedOver, numbers.Min());

    /// <summary>How many the server put off.</summary>
    public int PutOffCount => _putOff.Count;

    /// <summary>Notes readings that the server does not take with their dates.</summary>
    public void PutOff(IReadOnlyCollection<long> numbers)
    {
        var here = _entries.Select(entry => entry.Number).Intersect(numbers).ToList();
        _putOff.UnionWith(here);
        Bump(OutboxCount.PutOff, here.Count);
    }

    /// <summary>Whether the server put it off.</summary>
    public bool IsPutOff(long number) => _putOff.Contains(number);

    /// <summary>Adds what is new.</summary>
    /// <returns>How many were new.</returns>
    public int Add(IReadOnlyList<TakenReading> taken)
    {
        var known = Known(_entries);
        var added = 0;
        foreach (var one in taken)
        {
            if ((one.Dated ? Freed(known, one, one.Reading.MeasuredAt) : one) is not { } there)
                continue;
            _entries.Add((_next--, there, false));
            added++;
        }

        Bump(OutboxCount.Duplicate, taken.Count - added);
        if (_entries.Count > capacity)
            MakeRoom();
        return added;
    }

    public IEnumerable<OutboxEntry> Dated() =>
        _entries.Where(entry => entry.Taken.Dated).Select(entry => new OutboxEntry(entry.Number, entry.Taken.Reading, entry.Taken.Boot, entry.Taken.SinceBoot));

    public List<TakenReading> All() => _entries.ConvertAll(entry => entry.Taken);

    public void Remove(IReadOnlyCollection<long> numbers)
    {
        if (_entries.Count > 0 && numbers.ToHashSet() is var gone)
        {
            _entries.RemoveAll(entry => gone.Contains(entry.Number));
            _putOff.ExceptWith(gone);
        }
    }

    public int Date(string boot, DateTimeOffset bootedAt, bool again)
    {
        var known = Known(_entries.Where(entry => entry.Taken.Boot != boot || Stays(entry, again)));
        var (dated, twice) = (0, new List<long>());
        for (var i = 0; i < _entries.Count; i++)
        {
            var (number, taken, thinned) = _entries[i];
            if (taken.Boot != boot || Stays(_entries[i], again))
                continue;
            // Whole milliseconds, as the file has them.
            var at = DateTimeOffset.FromUnixTimeMilliseconds(bootedAt.ToUnixTimeMilliseconds() + (long)taken.SinceBoot.TotalMilliseconds);
            if (Freed(known, taken, at) is { } free)
            {
                _entries[i] = (number, free, thinned);
                _putOff.Remove(number);
                dated++;
            }
            else
            {
                twice.Add(number);
            }
        }

        Remove(twice);
        Bump(OutboxCount.Duplicate, twice.Count);
        return dated;
    }

    private bool Stays((long Number, TakenReading Taken, bool Thinned) entry, bool again) =>
        entry.Taken.Dated && (!again || (entry.Number >= _handedOver && !_putOff.Contains(entry.Number)));

    private static Dictionary<(SpotId, DateTimeOffset), (string Boot, TimeSpan SinceBoot)> Known(IEnumerable<(long Number, TakenReading Taken, bool Thinned)> entries) =>
        entries.Where(entry => entry.Taken.Dated)
            .ToDictionary(entry => (entry.Taken.Reading.Spot, entry.Taken.Reading.MeasuredAt), entry => (entry.Taken.Boot, entry.Taken.SinceBoot));

    /// <summary>The reading, dated with the first moment from one on that no other of its spot has, as the file does it; <c>null</c> where it is there.</summary>
    private static TakenReading? Freed(Dictionary<(SpotId, DateTimeOffset), (string Boot, TimeSpan SinceBoot)> known, TakenReading taken, DateTimeOffset at)
    {
        for (; known.TryGetValue((taken.Reading.Spot, at), out var other); at = at.AddMilliseconds(1))
        {
            if (other == (taken.Boot, taken.SinceBoot))
                return null;
        }

        known.Add((taken.Reading.Spot, at), (taken.Boot, taken.SinceBoot));
        return taken with { Reading = taken.Reading with { MeasuredAt = at }, Dated = true };
    }

    public void Clear()
    {
        _entries.Clear();
        _putOff.Clear();
        Counts.Clear();
    }

    private void MakeRoom()
    {
        var oldest = _entries.Where(entry => entry.Taken.Dated && !entry.Thinned).Take(capacity / 2).ToList();
        var thinned = 0;
        foreach (var entries in oldest.GroupBy(entry => (entry.Taken.Reading.Spot, TenMinuteMean.SpanOf(entry.Taken.Reading.MeasuredAt.ToUnixTimeMilliseconds())))
            .SelectMany(span => TenMinuteMean.Parts([.. span], entry => entry.Taken.Reading)))
        {
            var last = _entries.FindIndex(entry => entry.Number == entries[^1].Number);
            var mean = TenMinuteMean.Of(entries.ConvertAll(entry => entry.Taken.Reading));
            _entries[last] = (entries[^1].Number, entries[^1].Taken with { Reading = mean }, true);
            Remove([.. entries.SkipLast(1).Select(entry => entry.Number)]);
            thinned += entries.Count - 1;
        }
        Bump(OutboxCount.Thinned, thinned);
        var over = Math.Max(0, _entries.Count - capacity);
        _entries.RemoveRange(0, over);
        Bump(OutboxCount.GivenUp, over);
    }

    /// <summary>Counts what the file cannot count now.</summary>
    public void Bump(OutboxCount what, long by)
    {
        if (by > 0)
            Counts[what] = Counts.GetValueOrDefault(what) + by;
    }
}
