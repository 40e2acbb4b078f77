using PavementWatch.Core.Sun;

namespace PavementWatch.Core.Weather;

/// <summary>Finds sun that is given and was not measured: zeros of a sensor that is unplugged, stuck or buried, or of a forecast without sun.</summary>
/// <remarks>
/// Zeros by day make ground that nobody measures look cool, and explain every shade as a dull sky. The darkest clouds leave more: of
/// 20,700 half-hours and hours with the sun over 10° at Bondville (1998), Stockholm (2010) and Phoenix (2004 to 2016), storms left 1 to
/// 3 % of a clear sky's sun for up to two hours, and under 1 % never for more than one; the one longer run is of zeros, 90 minutes of a storm.
/// The hour is common practice, no source. Nothing at all with the sun over 20° is no sky's, were it for minutes: of those rows the one such is of that storm.
/// </remarks>
public static class UnmeasuredSun
{
    /// <summary>[fraction] Of a clear sky's sun: what is under it for longer than <see cref="Longest"/> was not measured.</summary>
    public const double LeastFraction = 0.01;

    /// <summary>[°] With a lower sun nothing is said of it.</summary>
    public const double SunUpDegrees = 10;

    /// <summary>[°] With the sun higher than this even the darkest sky leaves something. Our choice.</summary>
    public const double NeverNothingDegrees = 20;

    // A clear sky gives no more with the sun overhead.
    private static readonly double BrightestDark = LeastFraction * ClearSky.GlobalWattsPerSquareMeter(90);

    /// <summary>So long a sky may be as dark.</summary>
    public static TimeSpan Longest { get; } = TimeSpan.FromHours(1);

    /// <summary>Whether a share of a clear sky's sun, while that stands over 10°, is no sky's: nothing is explained by it.</summary>
    /// <param name="sunFraction">[fraction] Sun over that of a clear sky; 0 or more.</param>
    public static bool IsTooDark(double sunFraction) => sunFraction < LeastFraction;

    /// <summary>Whether a sun or light of exactly nothing, or less, was not measured: a sensor that is stuck, unplugged or buried.</summary>
    /// <param name="measured">[W/m²] Sun, or [lx] light.</param>
    /// <param name="elevationDegrees">[°] The sun's height; at 20 and under nothing is said.</param>
    public static bool IsNothingByDay(double measured, double elevationDegrees) => measured <= 0 && elevationDegrees > NeverNothingDegrees;

    /// <summary>Finds the rows whose sun was not measured: of each dark spell that lasts more than an hour, or leaves nothing with the sun over 20°, all, and on through the nights until a row shows the sun again.</summary>
    /// <param name="rows">Ends of intervals, in time order, with their mean sun on level ground [W/m²], each interval reaching back to the row before.</param>
    /// <param name="latitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="longitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <param name="longestGap">Rows further apart say nothing of the time between them.</param>
    /// <returns>For each row whether it was not measured.</returns>
    /// <exception cref="ArgumentOutOfRangeException">An angle is not a number or outside its range, where a row is dark.</exception>
    public static IReadOnlyList<bool> In(
        IReadOnlyList<(DateTimeOffset At, double WattsPerSquareMeter)> rows, double latitudeDegrees, double longitudeDegrees, TimeSpan longestGap)
    {
        ArgumentNullException.ThrowIfNull(rows);
        var unmeasured = new bool[rows.Count];
        var first = -1;
        var (dark, isOut) = (TimeSpan.Zero, false);
        for (var i = 0; i < rows.Count; i++)
        {
            var length = i > 0 ? rows[i].At - rows[i - 1].At : rows.Count > 1 ? rows[1].At - rows[0].At : TimeSpan.Zero;
            if (length > longestGap)
                length = TimeSpan.Zero;
            var sky = SkyOf(rows[i], length, latitudeDegrees, longitudeDegrees);
            if (sky == Sky.Lit || (sky == Sky.Night && !isOut))
            {
                (first, dark, isOut) = (-1, TimeSpan.Zero, false);
                continue;
            }

            first = first < 0 ? i : first;
            dark += sky is Sky.Dark or Sky.None ? length : TimeSpan.Zero;
            isOut |= dark > Longest || sky == Sky.None;
            for (; isOut && first <= i; first++)
                unmeasured[first] = true;
        }

        return unmeasured;
    }

    private static Sky SkyOf((DateTimeOffset At, double WattsPerSquareMeter) row, TimeSpan length, double latitudeDegrees, double longitudeDegrees)
    {
        if (row.WattsPerSquareMeter >= BrightestDark)
            return Sky.Lit;
        var elevation = SolarPosition.At(row.At - (length / 2), latitudeDegrees, longitudeDegrees).ElevationDegrees;
        if (elevation <= SunUpDegrees)
            return Sky.Night;
        if (IsNothingByDay(row.WattsPerSquareMeter, elevation))
            return Sky.None;
        return IsTooDark(row.WattsPerSquareMeter / ClearSky.GlobalWattsPerSquareMeter(elevation)) ? Sky.Dark : Sky.Lit;
    }

    private enum Sky
    {
        Night,
        Dark,
        None,
        Lit,
    }
}
