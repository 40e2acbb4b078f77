using System.Globalization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Server.Checks;

/// <summary>Reads the lines below a header.</summary>
internal sealed class CheckCsvRows(string[] columns, SpotId? spot, IReadOnlyList<Spot> spots, DateTimeOffset now)
{
    private readonly Dictionary<string, int> _places =
        columns.Select((name, place) => (name, place)).DistinctBy(c => c.name).ToDictionary(c => c.name, c => c.place);

    private readonly Dictionary<SpotId, Spot> _spots = spots.ToDictionary(s => s.Id);

    /// <summary>Columns that nobody reads.</summary>
    public IReadOnlyList<string> PassedOver =>
        [.. columns.Where(c => c is not ("spot" or "time_utc" or "time_local" or "surface_celsius" or "surface_fahrenheit" or "thermometer" or "emissivity" or "ground" or "note"))];

    /// <exception cref="CheckCsvException">The line cannot be read.</exception>
    public SpotCheck Read(List<string> cells, int line)
    {
        if (cells.Count != columns.Length)
        {
            throw new CheckCsvException(
                line, "", $"{cells.Count} cells", $"{columns.Length} as in the header",
                cells.Count > columns.Length ? "write numbers with a decimal point, not a decimal comma, and put text with commas in quotes" : "fill the line up; an empty cell was not given");
        }

        var known = SpotOf(cells, line);
        var celsius = _places.ContainsKey("surface_celsius");
        var shown = Number(cells, celsius ? "surface_celsius" : "surface_fahrenheit", line)
            ?? throw new CheckCsvException(line, celsius ? "surface_celsius" : "surface_fahrenheit", "an empty cell", "a temperature", "fill it or remove the line");
        var check = new SpotCheck(known.Id, TimeOf(cells, line, known), celsius ? shown : Temperatures.FromFahrenheit(shown))
        {
            Thermometer = Cell(cells, "thermometer"),
            EmissivityFraction = Number(cells, "emissivity", line),
            Ground = GroundOf(cells, line),
            Note = Cell(cells, "note"),
        };
        return SpotCheckRules.Fault(check, now) is { } fault
            ? throw new CheckCsvException(line, ColumnOf(fault.Field), fault.Found, fault.Expected, fault.Remedy)
            : check;
    }

    private Spot SpotOf(List<string> cells, int line)
    {
        var name = Cell(cells, "spot");
        if (name.Length == 0 && spot is { } given)
            name = given.Value;
        // People name spots as they see them; programs by their id.
        var found = SpotId.TryParse(name, out var id) ? _spots.GetValueOrDefault(id) : null;
        return found
            ?? spots.FirstOrDefault(s => s.Name.Equals(name, StringComparison.OrdinalIgnoreCase))
            ?? throw new CheckCsvException(line, "spot", $"'{name}'", $"one of {string.Join(", ", spots.Select(s => s.Id))}", "correct the name");
    }

    private DateTimeOffset TimeOf(List<string> cells, int line, Spot known)
    {
        if (_places.ContainsKey("time_utc"))
        {
            var text = Cell(cells, "time_utc");
            var zoned = text.EndsWith('Z') || text.LastIndexOf('+') > 9 || text.LastIndexOf('-') > 9;
            return zoned && DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AdjustToUniversal | DateTimeStyles.AssumeUniversal, out var at)
                ? DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds())
                : throw new CheckCsvException(line, "time_utc", $"'{text}'", "a time with its zone like 2026-07-14T17:00:00Z", "end UTC times with Z; name the column time_local if they are the spot's own");
        }

        var local = Cell(cells, "time_local");
        return LocalTime.TryRead(local, known.TimeZoneId, out var moment) is { } fault
            ? throw new CheckCsvException(line, "time_local", $"'{local}'", fault, "correct the time")
            : moment;
    }

    private CheckedGround GroundOf(List<string> cells, int line) => Cell(cells, "ground").ToLowerInvariant() switch
    {
        "" => CheckedGround.Unknown,
        "sun" => CheckedGround.Sun,
        "shade" => CheckedGround.Shade,
        "wet" => CheckedGround.Wet,
        var other => throw new CheckCsvException(line, "ground", $"'{other}'", "sun, shade, wet or an empty cell", "correct the cell"),
    };

    private double? Number(List<string> cells, string column, int line)
    {
        var cell = Cell(cells, column);
        if (cell.Length == 0)
            return null;
        if (double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && double.IsFinite(value))
            return value;
        throw new CheckCsvException(
            line, column, $"'{cell}'", "a number with a decimal point",
            cell.Contains(',') ? "replace the decimal comma by a point" : "correct the cell");
    }

    private string Cell(List<string> cells, string column) => _places.TryGetValue(column, out var place) ? cells[place] : "";

    private string ColumnOf(CheckField field) => field switch
    {
        CheckField.Spot => "spot",
        CheckField.Time => _places.ContainsKey("time_utc") ? "time_utc" : "time_local",
        CheckField.Temperature => _places.ContainsKey("surface_celsius") ? "surface_celsius" : "surface_fahrenheit",
        CheckField.Emissivity => "emissivity",
        CheckField.Ground => "ground",
        CheckField.Thermometer => "thermometer",
        _ => "note",
    };
}
