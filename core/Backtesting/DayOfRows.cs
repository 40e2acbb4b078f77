using PavementWatch.Core.Places;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>The rows of a file that lie in one local day; a row belongs to the day in which its interval lies.</summary>
/// <param name="Day">The local date.</param>
/// <param name="Begin">The day's first moment, UTC.</param>
/// <param name="Finish">The next day's first moment, UTC.</param>
/// <param name="Offset">Local time minus UTC at the day's beginning.</param>
/// <param name="First">Index of its first row.</param>
/// <param name="End">Index after its last row.</param>
internal sealed record DayOfRows(
    DateOnly Day, DateTimeOffset Begin, DateTimeOffset Finish, TimeSpan Offset, int First, int End)
{
    /// <summary>Cuts rows into local days.</summary>
    /// <param name="rows">In time order; their times are ends of intervals, so midnight's row belongs to the day before.</param>
    /// <param name="spot">Where; without a zone its days are those of the nearest whole hour of solar time.</param>
    /// <param name="zone">Its time zone, or <c>null</c>.</param>
    /// <returns>The days that hold rows, in order.</returns>
    public static IReadOnlyList<DayOfRows> Cut(IReadOnlyList<WeatherSample> rows, Spot spot, TimeZoneInfo? zone)
    {
        zone ??= SolarZone(spot);
        var days = new List<DayOfRows>();
        var i = 0;
        while (i < rows.Count)
        {
            var date = LocalDay.Of(zone, rows[i].At.AddTicks(-1));
            var begin = LocalDay.Start(zone, date);
            var finish = LocalDay.Start(zone, date.AddDays(1));
            var first = i;
            while (i < rows.Count && rows[i].At <= finish)
                i++;
            days.Add(new DayOfRows(date, begin, finish, zone.GetUtcOffset(begin), first, i));
        }

        return days;
    }

    private static TimeZoneInfo SolarZone(Spot spot)
    {
        var offset = TimeSpan.FromHours(Math.Round(spot.LongitudeDegrees / 15));
        return TimeZoneInfo.CreateCustomTimeZone("solar", offset, null, null);
    }
}
