using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Sun;

/// <summary>The sun's position.</summary>
/// <remarks>
/// Source: J. Meeus, Astronomical Algorithms, 2nd ed., 1998, chapters 25 and 28, in the form of the solar calculator
/// of NOAA's Global Monitoring Laboratory. Within 0.001° of the NREL solar position algorithm
/// (Reda and Andreas 2008, NREL/TP-560-34302) at its worked example; good to 0.01° from 1900 to 2100.
/// </remarks>
public static class SolarPosition
{
    private const double J2000Ticks = 630823248000000000;

    /// <summary>The sun's position at a moment and place.</summary>
    /// <param name="at">The moment, 1900 to 2100.</param>
    /// <param name="latitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="longitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <returns>Elevation without refraction, azimuth from north, and the angles they come from.</returns>
    /// <exception cref="ArgumentOutOfRangeException">An angle is not a number or outside its range.</exception>
    public static SolarAngles At(DateTimeOffset at, double latitudeDegrees, double longitudeDegrees)
    {
        QuantityRanges.Latitude.Require(latitudeDegrees);
        QuantityRanges.Longitude.Require(longitudeDegrees);

        var days = (at.UtcTicks - J2000Ticks) / TimeSpan.TicksPerDay;
        var t = days / 36525;

        // Sun's mean longitude and anomaly, eccentricity of the orbit (Meeus 25.2 to 25.4).
        var l0 = Radians(280.46646 + t * (36000.76983 + t * 0.0003032));
        var m = Radians(357.52911 + t * (35999.05029 - t * 0.0001537));
        var e = 0.016708634 - t * (0.000042037 + t * 0.0000001267);
        var (sinM, cosM) = Math.SinCos(m);
        var sin2M = 2 * sinM * cosM;
        var sin3M = sinM * (3 - 4 * sinM * sinM);
        var center = Radians(
            sinM * (1.914602 - t * (0.004817 + t * 0.000014))
            + sin2M * (0.019993 - t * 0.000101)
            + sin3M * 0.000289);

        // Apparent longitude and corrected obliquity: nutation by the node's longitude alone.
        var (sinNode, cosNode) = Math.SinCos(Radians(125.04 - 1934.136 * t));
        var lambda = l0 + center - Radians(0.00569 + 0.00478 * sinNode);
        var obliquity = Radians(
            23 + (26 + (21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))) / 60) / 60 + 0.00256 * cosNode);
        var sinDeclination = Math.Sin(obliquity) * Math.Sin(lambda);
        var cosDeclination = Math.Sqrt(1 - sinDeclination * sinDeclination);

        // Equation of time (Meeus 28.3, Smart's series), in radians of hour angle.
        var y = Math.Tan(obliquity / 2);
        y *= y;
        var (sin2L, cos2L) = Math.SinCos(2 * l0);
        var equation = y * sin2L - 2 * e * sinM + 4 * e * y * sinM * cos2L
            - y * y * sin2L * cos2L - 1.25 * e * e * sin2M;

        var hourAngle = Math.IEEERemainder(
            (days - Math.Floor(days)) * 2 * Math.PI + Radians(longitudeDegrees) + equation, 2 * Math.PI);
        var (sinH, cosH) = Math.SinCos(hourAngle);
        var (sinLatitude, cosLatitude) = Math.SinCos(Radians(latitudeDegrees));
        // Rounding can leave the sine past 1.
        var sinElevation = Math.Clamp(
            sinLatitude * sinDeclination + cosLatitude * cosDeclination * cosH, -1, 1);
        var azimuth = Degrees(Math.Atan2(
            -cosDeclination * sinH, sinDeclination * cosLatitude - cosDeclination * sinLatitude * cosH));
        if (azimuth < 0)
            azimuth += 360;

        return new SolarAngles(
            Degrees(Math.Asin(sinElevation)),
            azimuth >= 360 ? 0 : azimuth,
            Degrees(Math.Asin(sinDeclination)),
            Degrees(hourAngle),
            Degrees(equation) * 4);
    }

    private static double Radians(double degrees) => degrees * (Math.PI / 180);

    private static double Degrees(double radians) => radians * (180 / Math.PI);
}
