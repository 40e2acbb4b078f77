using System.Collections.Concurrent;
using PavementWatch.Core.Places;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Positions;

/// <summary>Where walkers who chose to say so are: in memory only, for half an hour at most, in no log.</summary>
internal sealed class SharedPositions([FromKeyedServices(Clocks.People)] TimeProvider time)
{
    /// <summary>How long a position counts.</summary>
    public static readonly TimeSpan Life = TimeSpan.FromMinutes(30);

    private readonly ConcurrentDictionary<int, Position> _positions = [];

    public void Share(int personId, double latitudeDegrees, double longitudeDegrees)
    {
        ForgetOld();
        _positions[personId] = new Position(latitudeDegrees, longitudeDegrees, time.GetUtcNow());
    }

    public void Forget(int personId) => _positions.TryRemove(personId, out _);

    /// <summary>The people within the spot's radius.</summary>
    public IReadOnlyList<int> Near(Spot spot)
    {
        ForgetOld();
        return [.. _positions.Where(p => Meters(p.Value, spot) <= spot.RadiusMeters).Select(p => p.Key)];
    }

    private static double Meters(Position position, Spot spot) =>
        Distance.Meters(position.LatitudeDegrees, position.LongitudeDegrees, spot.LatitudeDegrees, spot.LongitudeDegrees);

    private void ForgetOld()
    {
        var oldest = time.GetUtcNow() - Life;
        foreach (var (person, position) in _positions)
        {
            if (position.At < oldest)
                _positions.TryRemove(new KeyValuePair<int, Position>(person, position));
        }
    }

    private sealed record Position(double LatitudeDegrees, double LongitudeDegrees, DateTimeOffset At);
}
