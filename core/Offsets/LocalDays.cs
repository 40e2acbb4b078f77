using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>A local day of a file of rows; a row belongs to the day in which its interval lies.</summary>
/// <param name="Day">The local date.</param>
/// <param name="Begin">Local midnight, UTC.</param>
/// <param name="Finish">The next local midnight, UTC.</param>
/// <param name="Offset">Local time minus UTC at the day's beginning.</param>
/// <param name="First">Index of its first row.</param>
/// <param name="End">Index after its last row.</param>
internal sealed record LocalDay(
    DateOnly Day, DateTimeOffset Begin, DateTimeOffset Finish, TimeSpan Offset, int First, int End);

/// <summary>Cuts rows into local days.</summary>
internal static class LocalDays
{
    /// <summary>The days that hold rows, in order. Row times are ends of intervals: midnight's row belongs to the day before.</summary>
    public static IReadOnlyList<LocalDay> Of(IReadOnlyList<WeatherSample> rows, Spot spot, TimeZoneInfo? zone)
    {
        var days = new List<LocalDay>();
        var i = 0;
        while (i < rows.Count)
        {
            var date = DateOnly.FromDateTime(Local(rows[i].At.AddTicks(-1), spot, zone));
            var begin = Midnight(date, spot, zone);
            var finish = Midnight(date.AddDays(1), spot, zone);
            var first = i;
            while (i < rows.Count && rows[i].At <= finish)
                i++;
            days.Add(new LocalDay(date, begin, finish, Offset(begin, spot, zone), first, i));
        }

        return days;
    }

    private static DateTime Local(DateTimeOffset at, Spot spot, TimeZoneInfo? zone) =>
        at.ToOffset(Offset(at, spot, zone)).DateTime;

    private static DateTimeOffset Midnight(DateOnly date, Spot spot, TimeZoneInfo? zone)
    {
        var local = date.ToDateTime(TimeOnly.MinValue);
        // A zone may skip midnight on the day its clocks go forward; that day begins an hour later.
        if (zone is not null && zone.IsInvalidTime(local))
            local = local.AddHours(1);
        return new DateTimeOffset(local, zone?.GetUtcOffset(local) ?? SolarOffset(spot)).ToUniversalTime();
    }

    private static TimeSpan Offset(DateTimeOffset at, Spot spot, TimeZoneInfo? zone) =>
        zone?.GetUtcOffset(at) ?? SolarOffset(spot);

    private static TimeSpan SolarOffset(Spot spot) => TimeSpan.FromHours(Math.Round(spot.LongitudeDegrees / 15));
}
