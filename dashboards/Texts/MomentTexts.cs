using System.Globalization;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Moments in a spot's own time zone. Everything else in the system is UTC.</summary>
internal static class MomentTexts
{
    /// <summary>Time of day, e.g. <c>14:32</c>; with <c> UTC</c> behind it where the zone's name is not known to this machine.</summary>
    public static string Clock(DateTimeOffset at, string timeZoneId) =>
        TimeZoneInfo.TryFindSystemTimeZoneById(timeZoneId, out var zone)
            ? TimeZoneInfo.ConvertTime(at, zone).ToString("HH:mm", CultureInfo.InvariantCulture)
            : at.UtcDateTime.ToString("HH:mm' UTC'", CultureInfo.InvariantCulture);

    /// <summary>Time of day, and the date before it where it is not the date of <paramref name="now"/>: <c>14 July 14:32</c>.</summary>
    public static string Moment(DateTimeOffset at, DateTimeOffset now, string timeZoneId) =>
        Date(at, timeZoneId) is var date && date == Date(now, timeZoneId)
            ? Clock(at, timeZoneId)
            : $"{date.ToString("d MMMM", CultureInfo.InvariantCulture)} {Clock(at, timeZoneId)}";

    /// <summary>The local date; UTC where the zone is not known.</summary>
    public static DateOnly Date(DateTimeOffset at, string timeZoneId) =>
        DateOnly.FromDateTime(TimeZoneInfo.TryFindSystemTimeZoneById(timeZoneId, out var zone)
            ? TimeZoneInfo.ConvertTime(at, zone).DateTime
            : at.UtcDateTime);

    /// <summary>A moment that belongs to no spot: <c>2026-07-14 14:32 UTC</c>.</summary>
    public static string Utc(DateTimeOffset at) => at.UtcDateTime.ToString("yyyy-MM-dd HH:mm 'UTC'", CultureInfo.InvariantCulture);

    /// <summary>A date for a heading, e.g. <c>Tuesday 14 July 2026</c>.</summary>
    public static string LongDate(DateOnly day) => day.ToString("dddd d MMMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A date for an address: <c>2026-07-14</c>.</summary>
    public static string IsoDate(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
