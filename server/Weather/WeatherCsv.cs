using System.Globalization;
using PavementWatch.Core.Backtesting;

namespace PavementWatch.Server.Weather;

/// <summary>
/// Reads <c>time_utc,air_celsius[,humidity_percent][,wind_mps][,solar_wm2]</c>: any order of columns, others are
/// passed over, an empty cell is not known. Any of the four quantities will do for what was observed.
/// </summary>
internal static class WeatherCsv
{
    public const string Header = "time_utc,air_celsius,humidity_percent,wind_mps,solar_wm2";

    private const string TimeColumn = "time_utc";
    private const int MostCells = 256;

    /// <returns><see cref="WeatherFile"/> or <see cref="WeatherFault"/>.</returns>
    public static WeatherFileOutcome Read(TextReader reader)
    {
        var lines = new CsvLines(reader);
        var header = lines.Next()?.TrimStart('\uFEFF');
        if (lines.IsTooLong)
            return TooLong(lines);
        if (string.IsNullOrWhiteSpace(header))
            return new WeatherFault("line 1", "an empty file", $"a line like {Header}", "write the file again with its header");
        if (header.Contains(';') || header.Contains('\t'))
            return new WeatherFault("line 1", "columns parted by ';' or tabs", "columns parted by ','", "write commas between cells and decimal points in numbers");
        var names = header.Split(',').Select(n => n.Trim().Trim('"').ToLowerInvariant()).ToArray();
        var time = Array.IndexOf(names, TimeColumn);
        if (time < 0)
            return new WeatherFault($"line 1, column {TimeColumn}", "no such column", $"a line like {Header}", "name the column so in the header");
        var places = WeatherFields.All.Select(f => Array.IndexOf(names, f.Column)).ToArray();
        if (places.All(p => p < 0))
            return new WeatherFault("line 1", "none of the columns of weather", $"a line like {Header}", "name the columns so in the header");
        if (names.GroupBy(n => n).FirstOrDefault(g => g.Count() > 1 && Header.Split(',').Contains(g.Key)) is { } twice)
            return new WeatherFault($"line 1, column {twice.Key}", "the column twice", "each column once", "remove one of them");
        return names.Length > MostCells
            ? new WeatherFault("line 1", $"{names.Length} columns", $"at most {MostCells}", "look whether line ends were lost")
            : ReadRows(lines, names.Length, time, places);
    }

    private static WeatherFileOutcome ReadRows(CsvLines lines, int width, int time, int[] places)
    {
        var rows = new List<WeatherValues>();
        for (var line = 2; lines.Next() is { } text; line++)
        {
            if (string.IsNullOrWhiteSpace(text))
                continue;
            if (rows.Count == WeatherFields.MostRows)
                return new WeatherFault($"line {line}", $"more than {WeatherFields.MostRows} rows", "fewer", "cut the file into parts");
            if (ReadRow(text, line, width, time, places, out var row) is { } fault)
                return fault;
            rows.Add(row);
        }

        return lines.IsTooLong ? TooLong(lines) : WeatherFields.Tidy(rows, []);
    }

    private static WeatherFault TooLong(CsvLines lines) =>
        new($"line {lines.Number}", $"more than {CsvLines.Longest} characters", "a row of weather", "look whether line ends were lost");

    private static WeatherFault? ReadRow(string text, int line, int width, int time, int[] places, out WeatherValues row)
    {
        row = default;
        Span<Range> cells = stackalloc Range[MostCells + 1];
        var count = text.AsSpan().Split(cells, ',');
        if (count != width)
        {
            return new WeatherFault(
                $"line {line}", $"{count} cells", $"{width} as in the header",
                count > width ? "write numbers with a decimal point, not a decimal comma" : "fill the row up; an empty cell is not known");
        }

        var moment = text.AsSpan(cells[time]).Trim().Trim('"');
        if (!TryTime(moment, out var at))
        {
            return new WeatherFault(
                $"line {line}, column {TimeColumn}", $"'{moment}'", "a time with its zone like 2026-07-14T17:00:00Z",
                "convert local times to UTC and end them with Z");
        }

        var values = new double?[places.Length];
        for (var f = 0; f < places.Length; f++)
        {
            var cell = places[f] < 0 ? [] : text.AsSpan(cells[places[f]]).Trim().Trim('"');
            if (cell.IsEmpty)
                continue;
            var field = WeatherFields.All[f];
            if (!double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) || !field.Holds(value))
            {
                return new WeatherFault(
                    $"line {line}, column {field.Column}", $"'{cell}'", $"{field.Expected} or an empty cell", "mend the cell or empty it");
            }

            values[f] = value;
        }

        row = new WeatherValues(at)
        {
            AirCelsius = values[0],
            HumidityPercent = values[1],
            WindMetersPerSecond = values[2],
            SolarWattsPerSquareMeter = values[3] is { } sun ? Math.Max(0, sun) : null,
        };
        return null;
    }

    /// <summary>A moment that says its zone, to the millisecond.</summary>
    public static bool TryTime(ReadOnlySpan<char> text, out DateTimeOffset at)
    {
        at = default;
        var zoned = text.EndsWith('Z') || text.LastIndexOf('+') > 9 || text.LastIndexOf('-') > 9;
        if (!zoned || !DateTimeOffset.TryParse(
            text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var read))
            return false;
        at = DateTimeOffset.FromUnixTimeMilliseconds(read.ToUnixTimeMilliseconds());
        return true;
    }
}
