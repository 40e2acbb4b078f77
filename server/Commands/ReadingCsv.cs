using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Commands;

/// <summary>Readings as CSV, as <c>export</c> writes and <c>import</c> reads them. Any order of columns; others are passed over; an empty cell was not measured.</summary>
internal static class ReadingCsv
{
    public const string Header =
        "time_utc,surface_celsius,air_celsius,humidity_percent,sensor_celsius,light_lux,supply_volts,quality,doubt";

    private static readonly string[] Names = Header.Split(',');

    public static string Line(Reading reading) => string.Join(
        ',',
        reading.MeasuredAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.FFF'Z'", CultureInfo.InvariantCulture),
        Text(reading.SurfaceCelsius), Text(reading.AirCelsius), Text(reading.HumidityPercent),
        Text(reading.SensorCelsius), Text(reading.LightLux), Text(reading.SupplyVolts),
        reading.Quality.ToString().ToLowerInvariant(),
        reading.Doubt == Doubt.None ? "" : reading.Doubt.ToString().Replace(", ", "+", StringComparison.Ordinal));

    /// <summary>The readings of a file, one after another.</summary>
    /// <exception cref="IOException">A line cannot be read; the message names it, the column, what was found and expected.</exception>
    public static IEnumerable<Reading> Read(TextReader reader, SpotId spot)
    {
        var lines = new CsvLines(reader);
        var header = (lines.Next() ?? "").TrimStart('\uFEFF').Split(',').Select(n => n.Trim().ToLowerInvariant()).ToArray();
        var places = Names.Select(n => Array.IndexOf(header, n)).ToArray();
        if (places[0] < 0 || places[1..7].All(p => p < 0))
            throw new IOException($"line 1: columns are {string.Join(',', header)}, expected time_utc and any of {Header}; name them so");
        for (var line = 2; lines.Next() is { } text; line++)
        {
            if (string.IsNullOrWhiteSpace(text))
                continue;
            var cells = text.Split(',');
            if (cells.Length != header.Length)
                throw new IOException($"line {line}: {cells.Length} cells, expected {header.Length} as in the header; write numbers with a decimal point and leave no comma out");
            yield return Read(cells, places, line, spot);
        }

        if (lines.IsTooLong)
            throw new IOException($"line {lines.Number}: more than {CsvLines.Longest} characters, expected a reading; look whether line ends were lost");
    }

    private static Reading Read(string[] cells, int[] places, int line, SpotId spot)
    {
        var time = Cell(cells, places, 0);
        if (!time.EndsWith('Z') || !DateTimeOffset.TryParse(
            time, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var at))
            throw Fault(line, 0, time, "a UTC time like 2026-07-14T17:00:00Z");
        var reading = new Reading(spot, DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds()))
        {
            SurfaceCelsius = Number(cells, places, 1, line),
            AirCelsius = Number(cells, places, 2, line),
            HumidityPercent = Number(cells, places, 3, line),
            SensorCelsius = Number(cells, places, 4, line),
            LightLux = Number(cells, places, 5, line),
            SupplyVolts = Number(cells, places, 6, line),
            Quality = Cell(cells, places, 7) is { Length: > 0 } quality
                ? Word<ReadingQuality>(quality, line, 7, "good, suspect or rejected")
                : ReadingQuality.Good,
            Doubt = Cell(cells, places, 8) is { Length: > 0 } doubt
                ? Word<Doubt>(doubt.Replace('+', ','), line, 8, "names such as Spike+Wet")
                : Doubt.None,
        };
        return ReadingRange.FirstFault(reading) is { } fault
            ? throw new IOException($"line {line}: {fault}; correct the cell or empty it")
            : reading;
    }

    private static string Cell(string[] cells, int[] places, int column) => places[column] < 0 ? "" : cells[places[column]].Trim();

    private static double? Number(string[] cells, int[] places, int column, int line)
    {
        var cell = Cell(cells, places, column);
        if (cell.Length == 0)
            return null;
        return double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out var value)
            ? value
            : throw Fault(line, column, cell, "a number with a decimal point, or an empty cell");
    }

    private static T Word<T>(string text, int line, int column, string expected)
        where T : struct, Enum =>
        text.All(c => char.IsAsciiLetter(c) || c is ',' or ' ') && Enum.TryParse<T>(text, ignoreCase: true, out var value) ? value : throw Fault(line, column, text, expected);

    private static IOException Fault(int line, int column, string found, string expected) =>
        new($"line {line}, column {Names[column]}: '{found}', expected {expected}; correct the cell");

    private static string Text(double? value) => value?.ToString("R", CultureInfo.InvariantCulture) ?? "";
}
