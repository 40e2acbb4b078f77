using System.Text.Json;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>An hour of a day as a table says it.</summary>
internal static class DayHourTexts
{
    /// <summary>The word's name for styles and marks, e.g. <c>tooHot</c>.</summary>
    public static string Word(DayHour hour) => JsonNamingPolicy.CamelCase.ConvertName(hour.Word.ToString());

    /// <summary>The surface, line by line: what was measured, in both units, then what was estimated, its ends rounded outwards.</summary>
    public static IEnumerable<string> Surface(DayHour hour)
    {
        if (hour.SurfaceCelsius is { } celsius)
        {
            yield return Temperatures.Celsius(celsius);
            yield return Temperatures.Fahrenheit(celsius);
        }

        if (hour is { LowerCelsius: { } lower, UpperCelsius: { } upper })
        {
            yield return hour.SurfaceCelsius is null ? "estimated" : "and estimated";
            yield return $"{Math.Floor(lower):0} to {Math.Ceiling(upper):0} °C";
            if (hour.LessSure)
                yield return "less sure";
            yield return $"{Math.Floor(Temperatures.ToFahrenheit(lower)):0} to {Math.Ceiling(Temperatures.ToFahrenheit(upper)):0} °F";
        }
        else if (hour.SurfaceCelsius is null)
        {
            yield return "none";
        }
    }
}
