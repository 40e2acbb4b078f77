using System.Globalization;

namespace PavementWatch.Core.Offsets;

/// <summary>What reading a file of measurements gave.</summary>
public abstract record BacktestCsvOutcome
{
    private protected BacktestCsvOutcome()
    {
    }
}

/// <summary>The file's rows in time order.</summary>
/// <param name="Rows">Rows with air temperature, in time order, each time once.</param>
/// <param name="Remarks">What was mended on the way, in plain sentences, e.g. that rows were out of order; empty when nothing was.</param>
public sealed record BacktestRows(IReadOnlyList<WeatherSample> Rows, IReadOnlyList<string> Remarks) : BacktestCsvOutcome;

/// <summary>The file cannot be used.</summary>
/// <param name="Line">Line of the fault, counted from 1; 0 when it is the whole file.</param>
/// <param name="Column">Name of the column, or empty.</param>
/// <param name="Found">What was found.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Remedy">What to do about it.</param>
public sealed record BacktestCsvFault(int Line, string Column, string Found, string Expected, string Remedy)
    : BacktestCsvOutcome
{
    /// <summary>The fault as one sentence.</summary>
    public override string ToString()
    {
        var where = Line > 0 ? $"line {Line}" + (Column.Length > 0 ? $", column {Column}" : "") + ": " : "";
        return $"{where}{Found}, expected {Expected}; {Remedy}";
    }
}

/// <summary>Reads <c>time_utc,air_celsius,surface_celsius[,humidity_percent][,wind_mps][,solar_wm2]</c>.</summary>
/// <remarks>
/// Columns may stand in any order and others are passed over; an empty cell is a missing value; a row without air is
/// left out. Rows out of order are sorted and of rows with the same time the first is kept; the remarks say so.
/// </remarks>
public static class BacktestCsv
{
    /// <summary>Most rows read: almost four years of minutes. More is refused.</summary>
    public const int MostRows = 2_000_000;

    private const string Sample = "a line like time_utc,air_celsius,surface_celsius,humidity_percent";

    private static readonly Field[] Fields =
    [
        new("time_utc", true, 0, 0), new("air_celsius", true, -60, 60), new("surface_celsius", true, -60, 120),
        new("humidity_percent", false, 0, 100), new("wind_mps", false, 0, 120), new("solar_wm2", false, -20, 2000),
    ];

    /// <summary>Reads a file.</summary>
    /// <param name="reader">The file's text.</param>
    /// <returns><see cref="BacktestRows"/> or <see cref="BacktestCsvFault"/>.</returns>
    public static BacktestCsvOutcome Read(TextReader reader)
    {
        ArgumentNullException.ThrowIfNull(reader);
        var header = reader.ReadLine()?.TrimStart('\uFEFF');
        if (string.IsNullOrWhiteSpace(header))
            return new BacktestCsvFault(1, "", "an empty file", Sample, "export the file again with its header");
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

        return ReadRows(reader, names.Length, places);
    }

    private static BacktestCsvOutcome ReadRows(TextReader reader, int width, int[] places)
    {
        var rows = new List<WeatherSample>();
        var line = 1;
        var withoutAir = 0;
        var sorted = true;
        while (reader.ReadLine() is { } text)
        {
            line++;
            if (string.IsNullOrWhiteSpace(text))
                continue;
            if (rows.Count == MostRows)
                return new BacktestCsvFault(line, "", $"more than {MostRows} rows", "fewer", "cut the file to the span of interest");
            if (ReadRow(text, line, width, places, out var row) is { } fault)
                return fault;
            if (row is not { } read)
            {
                withoutAir++;
                continue;
            }

            sorted &= rows.Count == 0 || rows[^1].At <= read.At;
            rows.Add(read);
        }

        if (rows.Count == 0)
            return new BacktestCsvFault(line, "", "no row with time and air", "at least one", "check that the file holds measurements");
        return Tidy(rows, sorted, withoutAir);
    }

    private static BacktestRows Tidy(List<WeatherSample> rows, bool sorted, int withoutAir)
    {
        var remarks = new List<string>();
        if (withoutAir > 0)
            remarks.Add($"{withoutAir} rows without air temperature were left out");
        if (!sorted)
        {
            rows = [.. rows.OrderBy(r => r.At)];
            remarks.Add("rows were out of order and have been sorted by time");
        }

        var kept = new List<WeatherSample>(rows.Count);
        foreach (var row in rows)
        {
            if (kept.Count == 0 || kept[^1].At != row.At)
                kept.Add(row);
        }

        if (kept.Count < rows.Count)
            remarks.Add($"{rows.Count - kept.Count} rows repeated a time; the first of each was kept");
        return new BacktestRows(kept, remarks);
    }

    private static BacktestCsvFault? ReadRow(string text, int line, int width, int[] places, out WeatherSample? row)
    {
        row = null;
        Span<Range> cells = stackalloc Range[256];
        var count = text.AsSpan().Split(cells, ',');
        if (count != width)
        {
            return new BacktestCsvFault(line, "", $"{count} cells", $"{width} as in the header",
                count > width ? "write numbers with a decimal point, not a decimal comma" : "fill the row up; an empty cell is a missing value");
        }

        var time = text.AsSpan(cells[places[0]]).Trim().Trim('"');
        if (!IsUtc(time) || !DateTimeOffset.TryParse(
            time, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out var at))
        {
            return new BacktestCsvFault(line, Fields[0].Name, $"'{time}'", "a time with its zone like 1998-06-01T12:30:00Z",
                "convert local times to UTC and end them with Z");
        }

        Span<double> values = stackalloc double[6];
        values.Fill(double.NaN);
        for (var f = 1; f < places.Length; f++)
        {
            if (places[f] < 0)
                continue;
            var cell = text.AsSpan(cells[places[f]]).Trim().Trim('"');
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

    private static bool IsUtc(ReadOnlySpan<char> time) =>
        time.EndsWith('Z') || time.LastIndexOf('+') > 9 || time.LastIndexOf('-') > 9;

    private static double? Known(double value) => double.IsNaN(value) ? null : value;

    private sealed record Field(string Name, bool Required, double Min, double Max);
}
