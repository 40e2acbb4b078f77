using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>How a spot no longer is what it was.</summary>
public enum DriftKind
{
    /// <summary>Too few days with readings to tell.</summary>
    Unknown = 0,

    /// <summary>As it was.</summary>
    None,

    /// <summary>Hotter in the sun, as before at night: resurfaced, sealed, or a tree felled.</summary>
    TakesMoreSun,

    /// <summary>Cooler in the sun, as before at night: painted, covered with sand or leaves, or newly shaded.</summary>
    TakesLessSun,

    /// <summary>Nearer to the air by day and by night: the sensor sees less of the ground, dirty or covered.</summary>
    SensorDulled,

    /// <summary>Off by the same by day and by night: the sensor has shifted or was changed.</summary>
    SensorShifted,

    /// <summary>Changed in a way none of these explains.</summary>
    Changed,
}

/// <summary>What was found of a spot's drift.</summary>
/// <param name="Kind">What it looks like.</param>
/// <param name="DayKelvin">[K] How much hotter than the older fit says the surface is with the sun above 20 degrees, on the middle one of the days.</param>
/// <param name="NightKelvin">[K] The same at night.</param>
/// <param name="Days">How many days were looked at.</param>
public sealed record DriftFinding(DriftKind Kind, double DayKelvin, double NightKelvin, int Days);

/// <summary>Tells whether a spot's last days still agree with an older fit, and names what has changed.</summary>
/// <remarks>The thresholds are of our own choosing, tried on simulated changes and on both open files; no source.</remarks>
public static class SpotDrift
{
    private const int LeastDays = 3;
    private const double AgreeingFraction = 0.75;
    private const double HighSunDegrees = 20;
    private const double LeastDayKelvin = 2;
    private const double LeastNightKelvin = 0.8;

    // A day's mean error keeps most of a single error's size: half of its variance is the day's own.
    private const double DayShare = 1.4;
    private const int LeastReadings = 4;
    private static readonly TimeSpan Lookback = TimeSpan.FromDays(3);

    /// <summary>Looks at the last days.</summary>
    /// <param name="older">A fit from before the change, e.g. the one in use a fortnight ago: nightly ones follow a change within days.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="history">Weather and surface readings in time order, some days longer than those to look at.</param>
    /// <param name="now">End of the last day, UTC.</param>
    /// <param name="days">How many last days to look at; 3 or more.</param>
    /// <returns>The finding.</returns>
    /// <exception cref="ArgumentOutOfRangeException">Fewer than three days.</exception>
    public static DriftFinding Look(
        OffsetFit older, Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now, int days = 5)
    {
        ArgumentNullException.ThrowIfNull(older);
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(history);
        ArgumentOutOfRangeException.ThrowIfLessThan(days, LeastDays);
        var end = WeatherSample.FirstAfter(history, now);
        var blind = new List<WeatherSample>();
        for (var i = WeatherSample.FirstAfter(history, now - TimeSpan.FromDays(days) - Lookback); i < end; i++)
            blind.Add(history[i] with { SurfaceCelsius = null });
        var estimator = new OffsetEstimator(older, spot, blind, now);
        var byDay = new List<double>();
        var byNight = new List<double>();
        for (var day = 0; day < days; day++)
        {
            var finish = now - TimeSpan.FromDays(day);
            var (sunny, dark) = Errors(estimator, spot, history, finish - TimeSpan.FromDays(1), finish);
            if (sunny.Count >= LeastReadings)
                byDay.Add(Robust.Median([.. sunny]));
            if (dark.Count >= LeastReadings)
                byNight.Add(Robust.Median([.. dark]));
        }

        if (byDay.Count < LeastDays || byNight.Count < LeastDays)
            return new DriftFinding(DriftKind.Unknown, 0, 0, Math.Min(byDay.Count, byNight.Count));
        var sigma = older.Parts[0].SigmaKelvin;
        var (high, low) = (Robust.Median([.. byDay]), Robust.Median([.. byNight]));
        var dayMoved = Moved(byDay, high, Math.Max(LeastDayKelvin, DayShare * sigma[12]));
        var nightMoved = Moved(byNight, low, Math.Max(LeastNightKelvin, DayShare * sigma[0]));
        return new DriftFinding(Name(dayMoved, nightMoved, high, low), high, low, byDay.Count);
    }

    private static DriftKind Name(bool dayMoved, bool nightMoved, double day, double night) => (dayMoved, nightMoved) switch
    {
        (false, false) => DriftKind.None,
        (true, false) => day > 0 ? DriftKind.TakesMoreSun : DriftKind.TakesLessSun,
        (true, true) when day < 0 && night > 0 => DriftKind.SensorDulled,
        (_, true) when Math.Sign(day) == Math.Sign(night) && Math.Abs(day - night) < 0.6 * Math.Max(Math.Abs(day), Math.Abs(night)) =>
            DriftKind.SensorShifted,
        _ => DriftKind.Changed,
    };

    /// <summary>Far off on the middle day, and the same way on most days: a bad day or two are no drift.</summary>
    private static bool Moved(List<double> days, double middle, double threshold) =>
        Math.Abs(middle) > threshold
        && days.Count(d => Math.Sign(d) == Math.Sign(middle) && Math.Abs(d) > threshold / 2) >= AgreeingFraction * days.Count;

    private static (List<double> Sunny, List<double> Dark) Errors(
        OffsetEstimator estimator, Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset from, DateTimeOffset to)
    {
        var (sunny, dark) = (new List<double>(), new List<double>());
        var end = WeatherSample.FirstAfter(history, to);
        for (var i = WeatherSample.FirstAfter(history, from); i < end; i++)
        {
            if (history[i].SurfaceCelsius is not { } surface)
                continue;
            var error = surface - estimator.At(history[i].At).SurfaceCelsius;
            if (!double.IsFinite(error))
                continue;
            var elevation = Sun.SolarPosition.At(history[i].At, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees;
            if (elevation > HighSunDegrees)
                sunny.Add(error);
            else if (elevation < 0)
                dark.Add(error);
        }

        return (sunny, dark);
    }
}
