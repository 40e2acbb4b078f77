using System.Globalization;
using Microsoft.AspNetCore.Http;

namespace PavementWatch.Dashboards.Days;

/// <summary>Which day an address asks for.</summary>
internal static class WantedDay
{
    // The calendar ends, and the links to the day before and after must still be days.
    private const int FirstYear = 2000;
    private const int LastYear = 2200;

    /// <summary>Reads it.</summary>
    /// <param name="text">What the address says; <c>null</c> asks for today.</param>
    /// <param name="today">Today where the spot is.</param>
    /// <returns>The day; or the status to answer with, and why in a plain sentence.</returns>
    public static (DateOnly Day, int Status, string? Fault) Read(string? text, DateOnly today)
    {
        var day = today;
        if (text is not null && !DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out day))
            return (today, StatusCodes.Status400BadRequest, $"“{text}” is not a day; expected one like 2026-07-14.");
        return day.Year is >= FirstYear and <= LastYear
            ? (day, StatusCodes.Status200OK, null)
            : (today, StatusCodes.Status404NotFound, $"There is nothing to show for {text}.");
    }
}
