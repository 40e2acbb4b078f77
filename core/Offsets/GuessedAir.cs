using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>How much less an estimate says when its air was not measured but taken to repeat its last day, or forecast.</summary>
/// <remarks>
/// Computed ourselves from the two open files (bondville June to mid-July 1998, hornsgatan mid-July to September 2010;
/// estimates 0 to 36 h ahead, made every six hours): without this the 90 % interval held 58 and 65 % of the readings two to
/// three hours ahead and 40 and 37 % a day and a half ahead. What has to be added to its half-width, in squares, came out alike in both files
/// when measured in the air's own changes from day to day: 0.9 of them after 2.5 h, 1.15 after 4.5 h, 1.5 after 10.5 h,
/// 1.6 after a day, 1.8 after a day and a half.
/// </remarks>
public static class GuessedAir
{
    private const double MostChanges = 1.75;
    private const double RiseHours = 9;

    // A quarter of an hour is what the last reading itself stands for.
    private const double FreeHours = 0.25;

    // Where little is known: the two files' changes are 2.6 and 3.4 K.
    private const double PriorChangeKelvin = 3;
    private const double PriorDays = 3;
    private const int Days = 14;

    /// <summary>
    /// [fraction] Of what repeating the day would add, what a forecast adds: a day ahead, forecasts are taken to err half as
    /// much as yesterday's weather does. Common practice, no source; the files hold no forecasts.
    /// </summary>
    public const double ForecastFraction = 0.5;

    /// <summary>An estimate with an interval that allows for its air.</summary>
    /// <param name="estimate">As if its air were known.</param>
    /// <param name="lead">How long after the last known air it is; not after it changes nothing.</param>
    /// <param name="fit">Knows how much the air changes from day to day there.</param>
    /// <param name="fraction">[fraction] 1 for air that repeats its last day, <see cref="ForecastFraction"/> for a forecast's.</param>
    /// <returns>The estimate; its temperature is the same, and each end of its interval lies further out.</returns>
    public static SurfaceEstimate Widen(SurfaceEstimate estimate, TimeSpan lead, OffsetFit fit, double fraction)
    {
        ArgumentNullException.ThrowIfNull(fit);
        var hours = lead.TotalHours - FreeHours;
        if (!(hours > 0))
            return estimate;
        var more = fraction * (fit.DailyAirChangeKelvin ?? PriorChangeKelvin) * MostChanges * Math.Sqrt(1 - Math.Exp(-hours / RiseHours));
        var middle = estimate.SurfaceCelsius;
        return estimate with
        {
            LowerCelsius = middle - Math.Sqrt(Square(middle - estimate.LowerCelsius) + Square(more)),
            UpperCelsius = middle + Math.Sqrt(Square(estimate.UpperCelsius - middle) + Square(more)),
        };
    }

    /// <summary>[K] Root mean square of how much the air of the last fortnight differed from that of the day before.</summary>
    /// <param name="grid">The window.</param>
    internal static double DailyChangeKelvin(WeatherGrid grid)
    {
        var day = grid.StepsIn(24);
        double squares = 0;
        var count = 0;
        for (var i = Math.Max(day, grid.Count - Days * day); i < grid.Count; i++)
        {
            var change = grid.Air[i] - grid.Air[i - day];
            if (double.IsNaN(change))
                continue;
            squares += change * change;
            count++;
        }

        var prior = PriorDays * day;
        return Math.Sqrt((squares + prior * PriorChangeKelvin * PriorChangeKelvin) / (count + prior));
    }

    private static double Square(double value) => value * value;
}
