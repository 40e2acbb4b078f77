using System.Globalization;

namespace PavementWatch.Dashboards.Checks;

/// <summary>Times as a spot's own clock shows them, as moments.</summary>
public static class LocalTimeEntry
{
    private static readonly string[] Forms = ["yyyy-MM-ddTHH:mm", "yyyy-MM-dd HH:mm", "yyyy-MM-ddTHH:mm:ss", "yyyy-MM-dd HH:mm:ss"];

    /// <summary>Reads a time.</summary>
    /// <param name="text">E.g. <c>2026-07-14T15:10</c>.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone.</param>
    /// <param name="moment">The moment, UTC.</param>
    /// <returns>What was expected when it cannot be told; <c>null</c> when it could.</returns>
    public static string? TryRead(string text, string timeZoneId, out DateTimeOffset moment)
    {
        moment = default;
        if (!DateTime.TryParseExact(text, Forms, CultureInfo.InvariantCulture, DateTimeStyles.None, out var local))
            return "a local time like 2026-07-14T15:10, without a zone";
        var zone = TimeZoneInfo.FindSystemTimeZoneById(timeZoneId);
        if (zone.IsInvalidTime(local))
            return $"a time that the clocks of {timeZoneId} show; they skip this one in spring";
        if (zone.IsAmbiguousTime(local))
            return $"a time that the clocks of {timeZoneId} show once; they show this one twice in autumn, so give it as UTC";
        moment = new DateTimeOffset(local, zone.GetUtcOffset(local)).ToUniversalTime();
        return null;
    }
}
