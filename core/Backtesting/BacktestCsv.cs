using System.Globalization;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>Reads <c>time_utc,air_celsius,surface_celsius[,humidity_percent][,wind_mps][,solar_wm2]</c>.</summary>
/// <remarks>
/// Columns may stand in any order and others are passed over; an empty cell is a missing value; a row without air is
/// left out. Rows out of order are sorted and of rows with the same time the first is kept; the remarks say so. A file
/// may be of any size: it is read as it comes, and of more than <see cref="MostRows"/> rows the means of steps are kept,
/// as short ones as fit, which the remarks say too.
/// </remarks>
public static class BacktestCsv
{
    /// <summary>Most rows kept as they are: a year of minutes, with room. More are averaged to steps.</summary>
    public const int MostRows = 600_000;

    private const int TellEvery = 1 << 16;

    private const string Sample = "a line like time_utc,air_celsius,surface_celsius,humidity_percent";

    private static readonly Field[] Fields =
    [
        new("time_utc", true, 0, 0), new("air_celsius", true, -60, 60), new("surface_celsius", true, -60, 120),
        new("humidity_percent", false, 0, 100), new("wind_mps", false, 0, 120), new("solar_wm2", false, -20, 2000),
    ];

    /// <summary>Reads a file.</summary>
    /// <param name="reader">The file's text.</param>
    /// <param name="progress">Told every now and then how many lines were read; may be <c>null</c>.</param>
    /// <param name="cancellationToken">Stops between lines.</param>
    /// <returns><see cref="BacktestRows"/> or <see cref="BacktestCsvFault"/>.</returns>
    public static BacktestCsvOutcome Read(
        TextReader reader, IProgress<int>? progress = null, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(reader);
        var lines = new CsvLines(reader);
        if (!lines.Next(out var first, out var tooLong) || first.TrimStart('\uFEFF').IsWhiteSpace())
            return new BacktestCsvFault(1, "", "an empty file", Sample, "export the file again with its header");
        if (tooLong)
            return TooLong(1);
        var header = first.TrimStart('\uFEFF').ToString();
        if (header.Contains(';'))
            return new BacktestCsvFault(1, "", "columns parted by ';'", "columns parted by ','", "export with commas and decimal points");

        var names = header.Split(',').Select(n => n.Trim().Trim('"').ToLowerInvariant()).ToArray();
        var places = new int[Fields.Length];
        for (var f = 0; f < Fields.Length; f++)
        {
            places[f] = Array.IndexOf(names, Fields[f].Name);
            if (places[f] < 0 && Fields[f].Required)
                return new BacktestCsvFault(1, Fields[f].Name, "no such column", Sample, "name the column so in the header");
            if (places[f] >= 0 && Array.LastIndexOf(names, Fields[f].Name) != places[f])
                return new BacktestCsvFault(1, Fields[f].Name, "the column twice", "each column once", "remove one of them");
        }

        return ReadRows(lines, names.Length, places, progress, cancellationToken);
    }

    private static BacktestCsvOutcome ReadRows(
        CsvLines lines, int width, int[] places, IProgress<int>? progress, CancellationToken cancellationToken)
    {
        var intake = new RowIntake(MostRows);
        var withoutAir = 0;
        var some = false;
        while (lines.Next(out var text, out var tooLong))
        {
            if (lines.Number % TellEvery == 0)
            {
                cancellationToken.ThrowIfCancellationRequested();
                progress?.Report(lines.Number);
            }

            if (tooLong)
                return TooLong(lines.Number);
            if (text.IsWhiteSpace())
                continue;
            if (ReadRow(text, lines.Number, width, places, out var row) is { } fault)
                return fault;
            some |= row is not null;
            if (row is not { } read)
                withoutAir++;
            else if (!intake.Add(read, lines.Number))
                return new BacktestCsvFault(lines.Number, "", $"more than {MostRows} hours of measurements", "at most 68 years", "cut the file to the span of interest");
        }

        progress?.Report(lines.Number);
        return some
            ? intake.Finish(withoutAir)
            : new BacktestCsvFault(lines.Number, "", "no row with time and air", "at least one", "check that the file holds measurements");
    }

    private static BacktestCsvFault TooLong(int line) =>
        new(line, "", $"a line of more than {CsvLines.Longest} characters", "a row of measurements", "look whether line ends were lost, or whether this is another kind of file");

    private static BacktestCsvFault? ReadRow(ReadOnlySpan<char> text, int line, int width, int[] places, out WeatherSample? row)
    {
        row = null;
        Span<Range> cells = stackalloc Range[256];
        var count = text.Split(cells, ',');
        if (count != width)
        {
            return new BacktestCsvFault(line, "", $"{count} cells", $"{width} as in the header",
                count > width ? "write numbers with a decimal point, not a decimal comma" : "fill the row up; an empty cell is a missing value");
        }

        var time = text[cells[places[0]]].Trim().Trim('"');
        if (!TryWholeSecond(time, out var at) && (!IsUtc(time) || !DateTimeOffset.TryParse(
            time, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out at)))
        {
            return new BacktestCsvFault(line, Fields[0].Name, $"'{time}'", "a time with its zone like 1998-06-01T12:30:00Z",
                "convert local times to UTC and end them with Z");
        }

        if (at.Year is < 1900 or > 2200)
            return new BacktestCsvFault(line, Fields[0].Name, $"'{time}'", "a time from 1900 to 2200", "correct the year");

        Span<double> values = stackalloc double[6];
        values.Fill(double.NaN);
        for (var f = 1; f < places.Length; f++)
        {
            if (places[f] < 0)
                continue;
            var cell = text[cells[places[f]]].Trim().Trim('"');
            if (cell.IsEmpty)
                continue;
            if (!double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out values[f])
                || !(values[f] >= Fields[f].Min && values[f] <= Fields[f].Max))
            {
                return new BacktestCsvFault(line, Fields[f].Name, $"'{cell}'",
                    $"a number from {Fields[f].Min} to {Fields[f].Max} or an empty cell", "mend the cell or empty it");
            }
        }

        if (!double.IsNaN(values[1]))
        {
            row = new WeatherSample(at, values[1])
            {
                SurfaceCelsius = Known(values[2]),
                HumidityPercent = Known(values[3]),
                WindMetersPerSecond = Known(values[4]),
                SolarWattsPerSquareMeter = double.IsNaN(values[5]) ? null : Math.Max(0, values[5]),
            };
        }

        return null;
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

    private static bool IsUtc(ReadOnlySpan<char> time) =>
        time.EndsWith('Z') || time.LastIndexOf('+') > 9 || time.LastIndexOf('-') > 9;

    private static double? Known(double value) => double.IsNaN(value) ? null : value;

    private sealed record Field(string Name, bool Required, double Min, double Max);
}
