using System.Globalization;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

// Readings to and from their rows.
internal sealed partial class OutboxFile
{
    private static void Bind(SqliteCommand command, Reading reading)
    {
        command.Parameters.AddWithValue("$surface", reading.SurfaceCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$air", reading.AirCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$humidity", reading.HumidityPercent ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$sensor", reading.SensorCelsius ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$light", reading.LightLux ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$supply", reading.SupplyVolts ?? (object)DBNull.Value);
        command.Parameters.AddWithValue("$spread", reading.SpreadKelvin ?? (object)DBNull.Value);
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
            SpreadKelvin = Real(row, 9),
            Quality = (ReadingQuality)row.GetInt32(10),
            Doubt = (Doubt)row.GetInt32(11),
        };

    private static OutboxEntry ReadEntry(SqliteDataReader row) =>
        new(row.GetInt64(0), ReadReading(row), row.GetString(12), TimeSpan.FromMilliseconds(row.GetInt64(13)));

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
