namespace PavementWatch.Core.Sun;

/// <summary>Sunshine on level ground under a sky without a cloud.</summary>
public static class ClearSky
{
    /// <summary>Global horizontal irradiance of a cloudless sky.</summary>
    /// <param name="elevationDegrees">[°] Sun's elevation; −90 to 90 inclusive.</param>
    /// <returns>[W/m²] 0 with the sun on or below the horizon, 1035 with it overhead.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The elevation is not a number or outside its range.</exception>
    /// <remarks>
    /// Source: B. Haurwitz, Insolation in relation to cloudiness and cloud density, J. Meteorol. 2 (1945) 154–166 and
    /// 3 (1946) 123–124: 1098 · cos z · exp(−0.059 / cos z). Made at Blue Hill, Massachusetts, near sea level.
    /// </remarks>
    public static double GlobalWattsPerSquareMeter(double elevationDegrees)
    {
        if (!(elevationDegrees is >= -90 and <= 90))
            throw new ArgumentOutOfRangeException(nameof(elevationDegrees), elevationDegrees, "expected −90 to 90");

        var cosZenith = Math.Sin(elevationDegrees * (Math.PI / 180));
        return cosZenith <= 0 ? 0 : 1098 * cosZenith * Math.Exp(-0.059 / cosZenith);
    }
}
