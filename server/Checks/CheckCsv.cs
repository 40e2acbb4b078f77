using System.Globalization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Checks;

/// <summary>What a file of checks holds: them, or the fault that keeps all of it out.</summary>
internal sealed record CheckCsvOutcome(IReadOnlyList<SpotCheck> Checks, IReadOnlyList<string> Remarks, string? Fault);

/// <summary>Spot checks as CSV, as <c>export</c> writes and <c>import</c> reads them.</summary>
internal static class CheckCsv
{
    public const string Header = "spot,time_utc,surface_celsius,thermometer,emissivity,ground,note";

    /// <summary>Most checks in a file: decades of a busy analyst. More is another kind of file.</summary>
    public const int MostRows = 100_000;

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
            using var table = new TableReader(reader, Header);
            var rows = new CheckCsvRows(table, spot, spots, now);
            var checks = new List<SpotCheck>();
            while (table.Next())
            {
                if (checks.Count == MostRows)
                    throw table.Refuse($"more than {MostRows} checks", "fewer", "cut the file into parts; readings of a sensor belong to 'import readings'");
                checks.Add(rows.Read());
            }

            return checks.Count > 0
                ? Tidy(checks, table.PassedOver)
                : new([], [], new TableFault(table.Line + 1, "", "no check", "at least one line below the header", "look whether the export was complete").ToString());
        }
        catch (TableException e)
        {
            return new([], [], e.Message);
        }
    }

    private static CheckCsvOutcome Tidy(List<SpotCheck> checks, string? passedOver)
    {
        var remarks = new List<string>();
        if (passedOver is not null)
            remarks.Add(passedOver);
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
