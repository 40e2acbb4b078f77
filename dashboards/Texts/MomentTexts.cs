using System.Globalization;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Moments in a spot's own time zone. Everything else in the system is UTC.</summary>
public static class MomentTexts
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

    /// <summary>A moment for who may be anywhere: <c>2026-07-14 14:32 UTC</c>.</summary>
    public static string Utc(DateTimeOffset at) => InFull(at, "Etc/UTC");

    /// <summary>A moment beside those of other places: <c>2026-07-14 14:32 Chicago time</c>.</summary>
    public static string InFull(DateTimeOffset at, string timeZoneId) => $"{IsoDate(Date(at, timeZoneId))} {ClockOf(at, timeZoneId)}";

    /// <summary>A time of day with whose it is: <c>14:32 Chicago time</c>.</summary>
    public static string ClockOf(DateTimeOffset at, string timeZoneId)
    {
        if (!TimeZoneInfo.TryFindSystemTimeZoneById(timeZoneId, out var zone))
            return Clock(at, timeZoneId);
        // A zone without a city says how far it is from UTC, and not by its name: that of Etc/GMT+5 means the other side.
        var isCity = timeZoneId.Contains('/', StringComparison.Ordinal) && !timeZoneId.StartsWith("Etc/", StringComparison.Ordinal);
        var offset = zone.GetUtcOffset(at);
        var whose = isCity ? $"{timeZoneId[(timeZoneId.LastIndexOf('/') + 1)..].Replace('_', ' ')} time"
            : offset == TimeSpan.Zero ? "UTC"
            : string.Create(CultureInfo.InvariantCulture, $"UTC{(offset < TimeSpan.Zero ? '-' : '+')}{offset:hh\\:mm}");
        return $"{Clock(at, timeZoneId)} {whose}";
    }

    /// <summary>A date for a heading, e.g. <c>Tuesday 14 July 2026</c>.</summary>
    public static string LongDate(DateOnly day) => day.ToString("dddd d MMMM yyyy", CultureInfo.InvariantCulture);

    /// <summary>A date for an address: <c>2026-07-14</c>.</summary>
    public static string IsoDate(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
