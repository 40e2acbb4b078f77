using System.Text.Json;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>An hour of a day as a table says it.</summary>
internal static class DayHourTexts
{
    /// <summary>The word's name for styles and marks, e.g. <c>tooHot</c>.</summary>
    public static string Word(DayHour hour) => JsonNamingPolicy.CamelCase.ConvertName(hour.Word.ToString());

    /// <summary>The surface, line by line: what was measured, then what was estimated, its ends rounded outwards, and what is in doubt and counts.</summary>
    public static IEnumerable<string> Surface(DayHour hour, double limitCelsius, TemperatureUnit unit)
    {
        if (hour.SurfaceCelsius is { } celsius)
        {
            foreach (var line in GroundTexts.Lines(celsius, limitCelsius, unit))
                yield return line;
        }

        if (hour is { LowerCelsius: { } lower, UpperCelsius: { } upper })
        {
            yield return hour.SurfaceCelsius is null ? "estimated" : "and estimated";
            var lines = Temperatures.IntervalLines(lower, upper, unit).ToList();
            yield return lines[0];
            if (hour.LessSure)
                yield return "less sure";
            foreach (var line in lines.Skip(1))
                yield return line;
        }
        else if (hour is { SurfaceCelsius: null, DoubtedCelsius: null })
        {
            yield return "none";
        }

        if (hour.DoubtedCelsius is { } doubted)
        {
            yield return "in doubt";
            foreach (var line in GroundTexts.Lines(doubted, limitCelsius, unit))
                yield return line;
        }
    }
}
