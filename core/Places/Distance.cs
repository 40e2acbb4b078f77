namespace PavementWatch.Core.Places;

/// <summary>How far apart two places are, on a sphere.</summary>
/// <remarks>
/// Source: haversine, d = 2R·asin√(sin²(Δφ/2) + cos φ₁·cos φ₂·sin²(Δλ/2)). Within 0.6 % of the WGS84 ellipsoid anywhere.
/// </remarks>
public static class Distance
{
    /// <summary>[m] Mean radius of the Earth (IUGG, R₁).</summary>
    public const double MeanEarthRadiusMeters = 6_371_008.8;

    /// <summary>The distance along the sphere.</summary>
    /// <param name="fromLatitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="fromLongitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <param name="toLatitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="toLongitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <param name="earthRadiusMeters">[m] Radius of the sphere; the mean radius unless given.</param>
    /// <returns>[m] 0 for the same place, half the circumference for opposite ones.</returns>
    /// <exception cref="ArgumentOutOfRangeException">An angle is not a number or outside its range.</exception>
    public static double Meters(
        double fromLatitudeDegrees, double fromLongitudeDegrees, double toLatitudeDegrees, double toLongitudeDegrees,
        double earthRadiusMeters = MeanEarthRadiusMeters)
    {
        var phi1 = Radians(fromLatitudeDegrees, 90, nameof(fromLatitudeDegrees));
        var phi2 = Radians(toLatitudeDegrees, 90, nameof(toLatitudeDegrees));
        var lambda1 = Radians(fromLongitudeDegrees, 180, nameof(fromLongitudeDegrees));
        var lambda2 = Radians(toLongitudeDegrees, 180, nameof(toLongitudeDegrees));
        var north = Math.Sin((phi2 - phi1) / 2);
        var east = Math.Sin((lambda2 - lambda1) / 2);
        var half = (north * north) + (Math.Cos(phi1) * Math.Cos(phi2) * east * east);
        return 2 * earthRadiusMeters * Math.Asin(Math.Sqrt(Math.Min(1, half))); // Rounding can pass 1 for opposite places.
    }

    private static double Radians(double degrees, double most, string name) =>
        Math.Abs(degrees) <= most
            ? degrees * Math.PI / 180
            : throw new ArgumentOutOfRangeException(name, degrees, $"{name} is {degrees}, expected {-most} to {most}");
}
