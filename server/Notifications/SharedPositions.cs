using System.Collections.Concurrent;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Access;

namespace PavementWatch.Server.Notifications;

/// <summary>Where walkers who chose to say so are: in memory only, for half an hour at most, in no log.</summary>
internal sealed class SharedPositions([FromKeyedServices(Clocks.People)] TimeProvider time)
{
    /// <summary>How long a position counts.</summary>
    public static readonly TimeSpan Life = TimeSpan.FromMinutes(30);

    // Mean radius of the Earth (IUGG 1980: R1 = 6371.0088 km).
    private const double EarthMeters = 6_371_008.8;

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

    /// <summary>[m] Great-circle distance (haversine; Sinnott, Virtues of the Haversine, Sky and Telescope 68, 1984).</summary>
    public static double Meters(double latitude1, double longitude1, double latitude2, double longitude2)
    {
        var phi1 = double.DegreesToRadians(latitude1);
        var phi2 = double.DegreesToRadians(latitude2);
        var a = Square(Math.Sin((phi2 - phi1) / 2))
            + (Math.Cos(phi1) * Math.Cos(phi2) * Square(Math.Sin(double.DegreesToRadians(longitude2 - longitude1) / 2)));
        // Rounding can leave the root past 1 at opposite points.
        return 2 * EarthMeters * Math.Asin(Math.Min(1, Math.Sqrt(a)));
    }

    private static double Square(double value) => value * value;

    private static double Meters(Position position, Spot spot) =>
        Meters(position.LatitudeDegrees, position.LongitudeDegrees, spot.LatitudeDegrees, spot.LongitudeDegrees);

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
