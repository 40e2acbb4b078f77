using System.Globalization;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

// Its tables, and readings to and from their rows.
internal sealed partial class OutboxFile
{
    private const string Schema =
        """
        CREATE TABLE IF NOT EXISTS spot(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
        CREATE TABLE IF NOT EXISTS reading(
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            spot INTEGER NOT NULL,
            measured_ms INTEGER,
            boot TEXT NOT NULL,
            boot_ms INTEGER NOT NULL,
            thinned INTEGER NOT NULL DEFAULT 0,
            surface_celsius REAL, air_celsius REAL, humidity_percent REAL, sensor_celsius REAL, light_lux REAL, supply_volts REAL,
            quality INTEGER NOT NULL,
            doubt INTEGER NOT NULL) STRICT;
        CREATE UNIQUE INDEX IF NOT EXISTS reading_once ON reading(spot, measured_ms);
        CREATE INDEX IF NOT EXISTS reading_held ON reading(boot) WHERE measured_ms IS NULL;
        CREATE INDEX IF NOT EXISTS reading_not_thinned ON reading(id) WHERE measured_ms IS NOT NULL AND NOT thinned;
        CREATE TABLE IF NOT EXISTS refused(spot INTEGER NOT NULL, measured_ms INTEGER, surface_celsius REAL, reason TEXT NOT NULL) STRICT;
        CREATE TABLE IF NOT EXISTS put_off(id INTEGER PRIMARY KEY) STRICT;
        CREATE TABLE IF NOT EXISTS last(one INTEGER PRIMARY KEY, dated_ms INTEGER NOT NULL) STRICT;
        CREATE TABLE IF NOT EXISTS handed_over(one INTEGER PRIMARY KEY, number INTEGER) STRICT;
        CREATE TABLE IF NOT EXISTS count(name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT;
        """;

    private static void Bind(SqliteCommand command, Reading reading)
    {
        command.Parameters.AddWithValue("$surface", reading.SurfaceCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$air", reading.AirCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$humidity", reading.HumidityPercent ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$sensor", reading.SensorCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$light", reading.LightLux ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$supply", reading.SupplyVolts ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$quality", (int)reading.Quality);
        command.Parameters.AddWithValue("$doubt", (int)reading.Doubt);
    }

    private static Reading ReadReading(SqliteDataReader row) =>
        new(SpotId.Parse(row.GetString(1)), DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(2)))
        {
            SurfaceCelsius = Real(row, 3),
            AirCelsius = Real(row, 4),
            HumidityPercent = Real(row, 5),
            SensorCelsius = Real(row, 6),
            LightLux = Real(row, 7),
            SupplyVolts = Real(row, 8),
            Quality = (ReadingQuality)row.GetInt32(9),
            Doubt = (Doubt)row.GetInt32(10),
        };

    private static OutboxEntry ReadEntry(SqliteDataReader row) =>
        new(row.GetInt64(0), ReadReading(row), row.GetString(11), TimeSpan.FromMilliseconds(row.GetInt64(12)));

    private static double? Real(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetDouble(column);

    private SqliteCommand Command(string sql, params ReadOnlySpan<(string Name, object Value)> parameters)
    {
        var command = _connection.CreateCommand();
        command.CommandText = sql;
        foreach (var (name, value) in parameters)
            command.Parameters.AddWithValue(name, value);
        return command;
    }

    private int Run(string sql, params ReadOnlySpan<(string Name, object Value)> parameters)
    {
        using var command = Command(sql, parameters);
        return command.ExecuteNonQuery();
    }

    private string? Text(string sql)
    {
        using var command = Command(sql);
        return Convert.ToString(command.ExecuteScalar(), CultureInfo.InvariantCulture);
    }

    private long Number(string sql, params ReadOnlySpan<(string Name, object Value)> parameters)
    {
        using var command = Command(sql, parameters);
        return Convert.ToInt64(command.ExecuteScalar(), CultureInfo.InvariantCulture);
    }
}
