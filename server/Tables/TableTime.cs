using System.Globalization;

namespace PavementWatch.Server.Tables;

/// <summary>Moments as tables and programs write them.</summary>
internal static class TableTime
{
    /// <summary>What is expected, in words.</summary>
    public const string Expected = "a time with its zone like 2026-07-14T17:00:00Z";

    /// <summary>A moment that says its zone, to the millisecond.</summary>
    public static bool TryRead(ReadOnlySpan<char> text, out DateTimeOffset at)
    {
        if (TryWholeSecond(text, out at))
            return true;
        var zoned = text.EndsWith('Z') || text.LastIndexOf('+') > 9 || text.LastIndexOf('-') > 9;
        if (!zoned || !DateTimeOffset.TryParse(
            text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out at))
            return false;
        at = DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds());
        return true;
    }

    /// <summary>The usual form, <c>1998-06-01T12:30:00Z</c>: ten million of them take a second instead of six.</summary>
    private static bool TryWholeSecond(ReadOnlySpan<char> time, out DateTimeOffset at)
    {
        at = default;
        if (time.Length != 20 || time[4] != '-' || time[7] != '-' || time[10] != 'T' || time[13] != ':' || time[16] != ':' || time[19] != 'Z')
            return false;
        var (year, month, day) = (100 * Two(time, 0) + Two(time, 2), Two(time, 5), Two(time, 8));
        var (hour, minute, second) = (Two(time, 11), Two(time, 14), Two(time, 17));
        if (year < 1 || month is < 1 or > 12 || day < 1 || day > DateTime.DaysInMonth(year, month) || hour is < 0 or > 23
            || minute is < 0 or > 59 || second is < 0 or > 59)
            return false;
        at = new DateTimeOffset(year, month, day, hour, minute, second, TimeSpan.Zero);
        return true;
    }

    /// <summary>Two digits; far below 0 when they are none.</summary>
    private static int Two(ReadOnlySpan<char> text, int at) =>
        char.IsAsciiDigit(text[at]) && char.IsAsciiDigit(text[at + 1]) ? 10 * (text[at] - '0') + text[at + 1] - '0' : -100_000;
}
