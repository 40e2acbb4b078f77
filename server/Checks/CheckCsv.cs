using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Server.Checks;

/// <summary>What a file of checks holds: them, or the fault that keeps all of it out.</summary>
internal sealed record CheckCsvOutcome(IReadOnlyList<SpotCheck> Checks, IReadOnlyList<string> Remarks, string? Fault);

/// <summary>Spot checks as CSV. Columns in any order, others are passed over and said so; an empty cell was not given.</summary>
internal static class CheckCsv
{
    public const string Header = "spot,time_utc,surface_celsius,thermometer,emissivity,ground,note";

    /// <summary>Most checks in a file: decades of a busy analyst. More is another kind of file.</summary>
    public const int MostRows = 100_000;

    private const int LongestLine = 2_000;

    private static readonly string[] Known =
        ["spot", "time_utc", "time_local", "surface_celsius", "surface_fahrenheit", "thermometer", "emissivity", "ground", "note"];

    public static string Line(SpotCheck check) => string.Join(
        ',',
        check.Spot.Value,
        check.At.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.FFF'Z'", CultureInfo.InvariantCulture),
        check.ShownCelsius.ToString("R", CultureInfo.InvariantCulture),
        Quoted(check.Thermometer),
        check.EmissivityFraction?.ToString("R", CultureInfo.InvariantCulture) ?? "",
        check.Ground == CheckedGround.Unknown ? "" : check.Ground.ToString().ToLowerInvariant(),
        Quoted(check.Note));

    /// <summary>Reads a file.</summary>
    /// <param name="reader">Its text.</param>
    /// <param name="spot">Whose checks they are where the file has no column for it.</param>
    /// <param name="spots">The spots that are known.</param>
    /// <param name="now">The server's clock.</param>
    public static CheckCsvOutcome Read(TextReader reader, SpotId? spot, IReadOnlyList<Spot> spots, DateTimeOffset now)
    {
        try
        {
            var lines = new CsvLines(reader);
            var header = lines.Next();
            CheckLength(lines);
            var rows = new CheckCsvRows(Columns(header, spot), spot, spots, now);
            var checks = new List<SpotCheck>();
            for (var line = 2; lines.Next() is { } text; line++)
            {
                if (string.IsNullOrWhiteSpace(text))
                    continue;
                if (checks.Count == MostRows)
                    throw new CheckCsvException(line, "", $"more than {MostRows} checks", "fewer", "cut the file into parts; readings of a sensor belong to 'import readings'");
                checks.Add(rows.Read(Cells(text, line), line));
            }

            CheckLength(lines);
            return checks.Count == 0
                ? throw new CheckCsvException(2, "", "no check", "at least one line below the header", "look whether the export was complete")
                : Tidy(checks, rows.PassedOver);
        }
        catch (CheckCsvException e)
        {
            return new([], [], e.Message);
        }
    }

    private static void CheckLength(CsvLines lines)
    {
        if (lines.IsTooLong)
            throw new CheckCsvException(lines.Number, "", $"more than {CsvLines.Longest} characters", $"at most {LongestLine}", "look whether line ends were lost");
    }

    /// <summary>Cells of a line; quotes may hold commas, a doubled quote is one.</summary>
    private static List<string> Cells(string text, int line)
    {
        if (text.Length > LongestLine)
            throw new CheckCsvException(line, "", $"{text.Length} characters", $"at most {LongestLine}", "look whether line ends were lost");
        var cells = new List<string>();
        var cell = new System.Text.StringBuilder();
        var quoted = false;
        for (var i = 0; i < text.Length; i++)
        {
            if (text[i] == '"' && quoted && i + 1 < text.Length && text[i + 1] == '"')
                cell.Append(text[i++]);
            else if (text[i] == '"')
                quoted = !quoted;
            else if (text[i] == ',' && !quoted)
                Take();
            else
                cell.Append(text[i]);
        }

        if (quoted)
            throw new CheckCsvException(line, "", "a quote that is not closed", "one at the end of its cell", "close it; a note is one line");
        Take();
        return cells;

        void Take()
        {
            cells.Add(cell.ToString().Trim());
            cell.Clear();
        }
    }

    private static string[] Columns(string? header, SpotId? spot)
    {
        header = header?.TrimStart('\uFEFF');
        if (string.IsNullOrWhiteSpace(header))
            throw new CheckCsvException(1, "", "an empty file", $"a line like {Header}", "export it again with its header");
        if (header.Contains(';') || header.Contains('\t'))
            throw new CheckCsvException(1, "", "columns parted by ';' or tabs", "columns parted by ','", "export with commas and decimal points");
        var columns = Cells(header, 1).Select(c => c.ToLowerInvariant()).ToArray();
        if (columns.GroupBy(c => c).FirstOrDefault(g => g.Count() > 1 && Known.Contains(g.Key)) is { } twice)
            throw new CheckCsvException(1, twice.Key, "the column twice", "each column once", "remove one of them");
        OneOf(columns, "time_utc", "time_local", "time_utc, or time_local for the spot's own clock");
        OneOf(columns, "surface_celsius", "surface_fahrenheit", "surface_celsius or surface_fahrenheit");
        if (!columns.Contains("spot") && spot is null)
            throw new CheckCsvException(1, "spot", "no such column", $"a line like {Header}", "add the column, or say whose checks they are");
        return columns;
    }

    private static void OneOf(string[] columns, string first, string second, string expected)
    {
        var (one, other) = (columns.Contains(first), columns.Contains(second));
        if (!one && !other)
            throw new CheckCsvException(1, first, "no such column", expected, "name the column so in the header");
        if (one && other)
            throw new CheckCsvException(1, first, $"{first} and {second}", "one of them", "remove the other");
    }

    private static CheckCsvOutcome Tidy(List<SpotCheck> checks, IReadOnlyList<string> passedOver)
    {
        var remarks = new List<string>();
        if (passedOver.Count > 0)
            remarks.Add($"columns passed over: {string.Join(", ", passedOver)}");
        var sorted = checks.OrderBy(c => c.At).ToList();
        if (!sorted.SequenceEqual(checks))
            remarks.Add("the checks were out of order and have been sorted by time");
        var once = sorted.DistinctBy(c => (c.Spot, c.At, c.Thermometer, c.ShownCelsius)).ToList();
        if (once.Count < sorted.Count)
            remarks.Add($"{sorted.Count - once.Count} checks stood in the file twice; the first of each was kept");
        return new(once, remarks, null);
    }

    private static string Quoted(string text) =>
        text.AsSpan().ContainsAny(',', '"') ? $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : text;
}

/// <summary>A file of checks cannot be read; the message says where and why.</summary>
internal sealed class CheckCsvException(int line, string column, string found, string expected, string remedy)
    : Exception($"line {line}{(column.Length > 0 ? $", column {column}" : "")}: {found}, expected {expected}; {remedy}");
