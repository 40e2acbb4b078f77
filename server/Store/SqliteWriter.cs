using Microsoft.Data.Sqlite;

namespace PavementWatch.Server.Store;

/// <summary>The writing connection with its prepared statements. Used by one thread at a time.</summary>
internal sealed class SqliteWriter : IDisposable
{
    private static readonly string[] Columns =
    [
        "spot", "measured_at", "received_at", "surface_celsius", "air_celsius", "humidity_percent",
        "sensor_celsius", "light_lux", "supply_volts", "quality", "doubt",
    ];

    // Made anew of all its readings: one that comes late, or twice, needs no other rule.
    private const string KeepStep = $"""
        INSERT OR REPLACE INTO ten_minutes
        SELECT $spot, $ending, {SqliteFile.StepOfReadings}
        FROM reading WHERE spot = $spot AND measured_at > $ending - $step AND measured_at <= $ending;
        """;

    private static readonly long StepMilliseconds = ReadingSteps.StepMilliseconds(SqliteFile.KeptStep);

    private readonly SqliteConnection _connection;
    private readonly SqliteCommand _insert;
    private readonly SqliteParameter[] _values;
    private readonly SqliteCommand _keepStep;
    private readonly SqliteParameter _stepSpot;
    private readonly SqliteParameter _stepEnding;

    public SqliteWriter(string path)
    {
        _connection = SqliteFile.OpenForWriting(path);
        _insert = _connection.CreateCommand();
#pragma warning disable CA2100 // Made of the names above.
        _insert.CommandText =
            $"INSERT INTO reading ({string.Join(", ", Columns)}) VALUES ({string.Join(", ", Columns.Select(name => "$" + name))}) "
            + "ON CONFLICT DO NOTHING;";
#pragma warning restore CA2100
        _values = [.. Columns.Select(name => _insert.Parameters.Add(new SqliteParameter { ParameterName = "$" + name }))];
        _keepStep = _connection.CreateCommand();
        _keepStep.CommandText = KeepStep;
        _stepSpot = _keepStep.Parameters.Add("$spot", SqliteType.Text);
        _stepEnding = _keepStep.Parameters.Add("$ending", SqliteType.Integer);
        _keepStep.Parameters.AddWithValue("$step", StepMilliseconds);
    }

    /// <summary>Writes all in one transaction; on an exception none is there.</summary>
    /// <returns>For each reading whether it was new.</returns>
    public IReadOnlyList<bool> Write(IReadOnlyList<StoredReading> readings)
    {
        var isNew = new bool[readings.Count];
        var steps = new HashSet<(string Spot, long Ending)>();
        using var transaction = _connection.BeginTransaction(deferred: false);
        _insert.Transaction = _keepStep.Transaction = transaction;
        for (var i = 0; i < readings.Count; i++)
        {
            Bind(readings[i]);
            isNew[i] = _insert.ExecuteNonQuery() == 1;
            if (isNew[i])
                steps.Add((readings[i].Reading.Spot.Value, ReadingSteps.EndMilliseconds(readings[i].Reading.MeasuredAt.ToUnixTimeMilliseconds(), StepMilliseconds)));
        }

        foreach (var (spot, ending) in steps)
        {
            (_stepSpot.Value, _stepEnding.Value) = (spot, ending);
            _keepStep.ExecuteNonQuery();
        }

        transaction.Commit();
        return isNew;
    }

    public void Dispose()
    {
        _insert.Dispose();
        _keepStep.Dispose();
        _connection.Dispose();
    }

    private void Bind(StoredReading stored)
    {
        var reading = stored.Reading;
        _values[0].Value = reading.Spot.Value;
        _values[1].Value = reading.MeasuredAt.ToUnixTimeMilliseconds();
        _values[2].Value = stored.ReceivedAt.ToUnixTimeMilliseconds();
        _values[3].Value = OrNull(reading.SurfaceCelsius);
        _values[4].Value = OrNull(reading.AirCelsius);
        _values[5].Value = OrNull(reading.HumidityPercent);
        _values[6].Value = OrNull(reading.SensorCelsius);
        _values[7].Value = OrNull(reading.LightLux);
        _values[8].Value = OrNull(reading.SupplyVolts);
        _values[9].Value = QualityNames.Of(reading.Quality);
        _values[10].Value = QualityNames.Of(reading.Doubt);
    }

    private static object OrNull(double? value) => value is { } v ? v : DBNull.Value;
}
