using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Checks;

/// <summary>Reads the rows of a table of checks.</summary>
internal sealed class CheckCsvRows
{
    private readonly TableReader _table;
    private readonly SpotId? _given;
    private readonly IReadOnlyList<Spot> _spots;
    private readonly Dictionary<SpotId, Spot> _spotsById;
    private readonly DateTimeOffset _now;
    private readonly TableColumn _spot, _utc, _local, _celsius, _fahrenheit, _thermometer, _emissivity, _ground, _note;

    /// <param name="table">The table, before its first row.</param>
    /// <param name="spot">Whose checks they are where the table has no column for it.</param>
    /// <param name="spots">The spots that are known.</param>
    /// <param name="now">The server's clock.</param>
    /// <exception cref="TableException">A column is missing, there twice, or there in both of its forms.</exception>
    public CheckCsvRows(TableReader table, SpotId? spot, IReadOnlyList<Spot> spots, DateTimeOffset now)
    {
        (_table, _given, _spots, _spotsById, _now) = (table, spot, spots, spots.ToDictionary(s => s.Id), now);
        (_spot, _utc, _local) = (table.Column("spot"), table.Column("time_utc"), table.Column("time_local"));
        (_celsius, _fahrenheit) = (table.Column("surface_celsius"), table.Column("surface_fahrenheit"));
        (_thermometer, _emissivity) = (table.Column("thermometer"), table.Column("emissivity"));
        (_ground, _note) = (table.Column("ground"), table.Column("note"));
        OneOf(_utc, _local, "time_utc, or time_local for the spot's own clock");
        OneOf(_celsius, _fahrenheit, "surface_celsius or surface_fahrenheit");
        if (!_spot.IsThere && spot is null)
            throw table.Missing("spot", expected: $"a line like {CheckCsv.Header}, or a word whose checks they are");
    }

    private TableColumn Time => _utc.IsThere ? _utc : _local;

    private TableColumn Temperature => _celsius.IsThere ? _celsius : _fahrenheit;

    /// <summary>The check of the table's row.</summary>
    /// <exception cref="TableException">It cannot be one.</exception>
    public SpotCheck Read()
    {
        var known = SpotOfRow();
        var shown = _table.Number(Temperature) ?? throw _table.Refuse(Temperature, "an empty cell", "a temperature", "fill it or remove the line");
        var check = new SpotCheck(known.Id, TimeAt(known), _celsius.IsThere ? shown : Temperatures.FromFahrenheit(shown))
        {
            Thermometer = _table.Cell(_thermometer),
            EmissivityFraction = _table.Number(_emissivity),
            Ground = Ground(),
            Note = _table.Cell(_note),
        };
        return SpotCheckRules.Fault(check, _now, TemperatureUnit.Both) is { } fault
            ? throw _table.Refuse(ColumnOf(fault.Field), fault.Found, fault.Expected, fault.Remedy)
            : check;
    }

    private void OneOf(TableColumn first, TableColumn second, string expected)
    {
        if (!first.IsThere && !second.IsThere)
            throw _table.Missing(first.Name, expected: expected);
        if (first.IsThere && second.IsThere)
            throw _table.Refuse(first, $"{first.Name} and {second.Name}", "one of them", "remove the other");
    }

    private Spot SpotOfRow()
    {
        var name = _table.Cell(_spot);
        if (name.Length == 0 && _given is { } given)
            name = given.Value;
        // People name spots as they see them; programs by their id.
        var found = SpotId.TryParse(name, out var id) ? _spotsById.GetValueOrDefault(id) : null;
        return found
            ?? _spots.FirstOrDefault(s => s.Name.Equals(name, StringComparison.OrdinalIgnoreCase))
            ?? throw _table.Refuse(_spot, $"'{name}'", $"one of {string.Join(", ", _spots.Select(s => s.Id))}", "correct the name");
    }

    private DateTimeOffset TimeAt(Spot known)
    {
        if (_utc.IsThere)
            return _table.Time(_utc, "end UTC times with Z; name the column time_local if they are the spot's own");
        var local = _table.Cell(_local);
        return LocalTimeEntry.TryRead(local, known.TimeZoneId, out var moment) is { } fault
            ? throw _table.Refuse(_local, $"'{local}'", fault, "correct the time")
            : moment;
    }

    private CheckedGround Ground() => _table.Cell(_ground).ToLowerInvariant() switch
    {
        "" => CheckedGround.Unknown,
        "sun" => CheckedGround.Sun,
        "shade" => CheckedGround.Shade,
        "wet" => CheckedGround.Wet,
        var other => throw _table.Refuse(_ground, $"'{other}'", "sun, shade, wet or an empty cell", "correct the cell"),
    };

    private TableColumn ColumnOf(CheckField field) => field switch
    {
        CheckField.Spot => _spot,
        CheckField.Time => Time,
        CheckField.Temperature => Temperature,
        CheckField.Emissivity => _emissivity,
        CheckField.Ground => _ground,
        CheckField.Thermometer => _thermometer,
        _ => _note,
    };
}
