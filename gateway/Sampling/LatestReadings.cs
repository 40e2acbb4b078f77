using System.Collections.Concurrent;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Sampling;

/// <summary>The latest of each spot that says something of its ground, and how long ago it came, whatever the wall clock does meanwhile.</summary>
internal sealed class LatestReadings(TimeProvider time)
{
    private readonly ConcurrentDictionary<SpotId, Entry> _spots = new();

    /// <summary>Takes what became due.</summary>
    public void Take(IReadOnlyList<Reading> readings)
    {
        var now = time.GetTimestamp();
        foreach (var reading in readings)
        {
            // What was rejected, or has no surface, says nothing, and takes nothing back either.
            if (reading.Quality == ReadingQuality.Rejected || reading.SurfaceCelsius is null)
                continue;
            var latest = new Taken(reading, now);
            _spots[reading.Spot] = new Entry(latest, reading.Quality == ReadingQuality.Good ? latest : _spots.GetValueOrDefault(reading.Spot)?.Good);
        }
    }

    /// <summary>A spot's latest reading and its age.</summary>
    public (Reading Reading, TimeSpan Age)? Of(SpotId spot) => Aged(_spots.GetValueOrDefault(spot)?.Latest);

    /// <summary>A spot's latest good reading and its age.</summary>
    public (Reading Reading, TimeSpan Age)? GoodOf(SpotId spot) => Aged(_spots.GetValueOrDefault(spot)?.Good);

    private (Reading Reading, TimeSpan Age)? Aged(Taken? taken) => taken is null ? null : (taken.Reading, time.GetElapsedTime(taken.At));

    private sealed record Taken(Reading Reading, long At);

    private sealed record Entry(Taken Latest, Taken? Good);
}
