using System.Collections.Concurrent;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Sampling;

/// <summary>The latest of each spot, and how long ago it came, whatever the wall clock does meanwhile.</summary>
internal sealed class LatestReadings(TimeProvider time)
{
    private readonly ConcurrentDictionary<SpotId, Entry> _spots = new();

    /// <summary>Takes what became due.</summary>
    public void Take(IReadOnlyList<Reading> readings)
    {
        var now = time.GetTimestamp();
        foreach (var reading in readings)
        {
            var before = _spots.GetValueOrDefault(reading.Spot);
            var good = reading.Quality == ReadingQuality.Good && reading.SurfaceCelsius is not null;
            _spots[reading.Spot] = good
                ? new Entry(reading, now, reading, now)
                : new Entry(reading, now, before?.Good, before?.GoodAt ?? 0);
        }
    }

    /// <summary>A spot's latest reading and its age.</summary>
    public (Reading Reading, TimeSpan Age)? Of(SpotId spot) =>
        _spots.TryGetValue(spot, out var entry) ? (entry.Latest, time.GetElapsedTime(entry.LatestAt)) : null;

    /// <summary>A spot's latest good reading and its age.</summary>
    public (Reading Reading, TimeSpan Age)? GoodOf(SpotId spot) =>
        _spots.TryGetValue(spot, out var entry) && entry.Good is { } good ? (good, time.GetElapsedTime(entry.GoodAt)) : null;

    private sealed record Entry(Reading Latest, long LatestAt, Reading? Good, long GoodAt);
}
