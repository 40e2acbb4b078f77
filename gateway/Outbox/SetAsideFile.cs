using System.Globalization;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

/// <summary>An outbox file that cannot be used as it is, put beside the new one: damaged, or of an edition this program does not know.</summary>
/// <remarks>
/// It is <c>NAME.rescue-damaged-yyyyMMddTHHmmssfff</c> (or <c>rescue-edition</c>) until its readings are in the new file,
/// however many starts that takes, and <c>NAME.damaged-…</c> (<c>NAME.edition-…</c>) after.
/// </remarks>
internal static class SetAsideFile
{
    private const string ToRescueMark = ".rescue-";
    private const int BatchRows = 2000;
    private const int MostKept = 3;

    private static readonly string[] Companions = ["", "-wal", "-shm"];
    private static readonly string[] Kinds = ["damaged", "edition"];

    // What a reading is worth nothing without.
    private static readonly string[] Needed = ["id", "spot", "measured_ms", "boot", "boot_ms"];
    private static readonly string[] Wanted =
        ["surface_celsius", "air_celsius", "humidity_percent", "sensor_celsius", "light_lux", "supply_volts", "quality", "doubt", "spread_kelvin"];

    /// <summary>Renames the file and its log, to be rescued.</summary>
    /// <param name="path">The outbox.</param>
    /// <param name="isDamaged">Whether it is damaged; otherwise it is of another edition.</param>
    /// <param name="now">The moment, for the name.</param>
    public static void SetAside(string path, bool isDamaged, DateTimeOffset now) =>
        Move(path, string.Create(CultureInfo.InvariantCulture, $"{path}{ToRescueMark}{Kinds[isDamaged ? 0 : 1]}-{now:yyyyMMdd'T'HHmmssfff}"));

    /// <summary>The files whose readings are not in the new one yet, the oldest first.</summary>
    public static IReadOnlyList<string> ToRescue(string path) => Beside(path, ToRescueMark);

    /// <summary>Whether a file was set aside because it was damaged.</summary>
    public static bool IsDamaged(string name) => name.Contains($".rescue-{Kinds[0]}-", StringComparison.Ordinal);

    /// <summary>Notes that everything readable of a file is in the new one.</summary>
    /// <returns>The name under which it is kept.</returns>
    public static string Finish(string name)
    {
        var at = name.LastIndexOf(ToRescueMark, StringComparison.Ordinal);
        var kept = $"{name[..at]}.{name[(at + ToRescueMark.Length)..]}";
        Move(name, kept);
        return kept;
    }

    /// <summary>Removes the oldest of the files kept: three stay, and of these no more than fit into <paramref name="maxBytes"/>, but the newest always.</summary>
    public static void Prune(string path, long maxBytes)
    {
        var newestFirst = Kinds.SelectMany(kind => Beside(path, $".{kind}-"))
            .OrderByDescending(name => name[(name.LastIndexOf('-') + 1)..], StringComparer.Ordinal).ToList();
        long bytes = 0;
        for (var i = 0; i < newestFirst.Count; i++)
        {
            bytes += Companions.Select(companion => new FileInfo(newestFirst[i] + companion)).Sum(file => file.Exists ? file.Length : 0);
            if (i == 0 || (i < MostKept && bytes <= maxBytes))
                continue;
            foreach (var companion in Companions)
                File.Delete(newestFirst[i] + companion);
        }
    }

    /// <summary>The readings that can still be read, dated or not, in order, in batches; damaged pages are stepped over.</summary>
    /// <remarks>Dated ones may have gone to the broker before, so they are told apart from those of any boot, and keep their dates.</remarks>
    public static IEnumerable<IReadOnlyList<TakenReading>> Read(string name)
    {
        using var connection = TryOpen(name);
        if (connection is null || TryColumns(connection) is not { } columns || !Needed.All(columns.Contains))
            yield break;
        var last = TryNumber(connection, "SELECT max(seq) FROM sqlite_sequence WHERE name = 'reading'");
        long after = 0, skip = 1;
        while (true)
        {
            var batch = new List<TakenReading>();
            var isWhole = TryReadBatch(connection, columns, ref after, batch);
            if (batch.Count > 0)
                yield return batch;
            if (isWhole && batch.Count == 0)
                yield break;
            // Over the damaged page: further each time nothing came, until behind the last number there was.
            skip = batch.Count > 0 ? 1 : Math.Min(2 * skip, 10_000);
            if (!isWhole)
                after += skip;
            if (!isWhole && after > (last ?? 0))
                yield break;
        }
    }

    /// <summary>The latest moment any reading was dated with, sent or not; <c>null</c> when that cannot be read.</summary>
    public static DateTimeOffset? LastDated(string name)
    {
        using var connection = TryOpen(name);
        return connection is not null && TryNumber(connection, "SELECT dated_ms FROM last") is { } milliseconds
            ? DateTimeOffset.FromUnixTimeMilliseconds(milliseconds)
            : null;
    }

    private static SqliteConnection? TryOpen(string name)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = name, Pooling = false }.ToString());
        try
        {
            connection.Open();
            return connection;
        }
        catch (SqliteException)
        {
            connection.Dispose();
            return null;
        }
    }

    private static HashSet<string>? TryColumns(SqliteConnection connection)
    {
        try
        {
            using var command = connection.CreateCommand();
            command.CommandText = "SELECT name FROM pragma_table_info('reading')";
            using var rows = command.ExecuteReader();
            var columns = new HashSet<string>();
            while (rows.Read())
                columns.Add(rows.GetString(0));
            return columns;
        }
        catch (SqliteException)
        {
            return null;
        }
    }

    private static long? TryNumber(SqliteConnection connection, string sql)
    {
        try
        {
            using var command = connection.CreateCommand();
            command.CommandText = sql;
            return command.ExecuteScalar() as long?;
        }
        catch (SqliteException)
        {
            return null;
        }
    }

    /// <returns>Whether the batch ended without meeting damage.</returns>
    private static bool TryReadBatch(SqliteConnection connection, HashSet<string> columns, ref long after, List<TakenReading> batch)
    {
        try
        {
            using var command = connection.CreateCommand();
            var wanted = string.Join(", ", Wanted.Select(column => columns.Contains(column) ? $"reading.{column}" : "NULL"));
            command.CommandText =
                $"""
                SELECT reading.id, spot.name, reading.measured_ms, reading.boot, reading.boot_ms, {wanted}
                FROM reading NOT INDEXED LEFT JOIN spot ON spot.id = reading.spot WHERE reading.id > $after ORDER BY reading.id LIMIT {BatchRows}
                """;
            command.Parameters.AddWithValue("$after", after);
            using var rows = command.ExecuteReader();
            while (rows.Read())
            {
                after = rows.GetInt64(0);
                if (TakenOf(rows) is { } taken)
                    batch.Add(taken);
            }

            return true;
        }
        catch (Exception error) when (error is SqliteException or InvalidCastException)
        {
            return false;
        }
    }

    private static TakenReading? TakenOf(SqliteDataReader row)
    {
        try
        {
            if (row.IsDBNull(1) || !SpotId.TryParse(row.GetString(1), out var spot))
                return null;
            var isDated = !row.IsDBNull(2);
            var sinceBoot = TimeSpan.FromMilliseconds(row.GetInt64(4));
            var reading = new Reading(spot, DateTimeOffset.FromUnixTimeMilliseconds(isDated ? row.GetInt64(2) : 0))
            {
                SurfaceCelsius = Real(row, 5),
                AirCelsius = Real(row, 6),
                HumidityPercent = Real(row, 7),
                SensorCelsius = Real(row, 8),
                LightLux = Real(row, 9),
                SupplyVolts = Real(row, 10),
                SpreadKelvin = Real(row, 13),
                // A quality that is missing or new is the cautious one.
                Quality = !row.IsDBNull(11) && Enum.IsDefined((ReadingQuality)row.GetInt32(11)) ? (ReadingQuality)row.GetInt32(11) : ReadingQuality.Suspect,
                Doubt = row.IsDBNull(12) ? Doubt.None : (Doubt)row.GetInt32(12),
            };
            return isDated ? new TakenReading(reading, Boot: "", TimeSpan.Zero, Dated: true) : new TakenReading(reading, row.GetString(3), sinceBoot, Dated: false);
        }
        catch (Exception error) when (error is FormatException or InvalidCastException or ArgumentException or OverflowException)
        {
            return null;
        }
    }

    private static double? Real(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetDouble(column);

    private static List<string> Beside(string path, string mark) =>
    [
        .. Directory.EnumerateFiles(Path.GetDirectoryName(path)!, $"{Path.GetFileName(path)}{mark}*")
            .Where(name => !Companions.Skip(1).Any(companion => name.EndsWith(companion, StringComparison.Ordinal)))
            .Order(StringComparer.Ordinal),
    ];

    private static void Move(string from, string to)
    {
        foreach (var companion in Companions.Where(companion => File.Exists(from + companion)))
            File.Move(from + companion, to + companion, overwrite: true);
    }
}
