using System.Data.Common;
using Microsoft.Data.Sqlite;

namespace PavementWatch.Server.Store;

/// <summary>The file of readings: how it is opened, and its table.</summary>
internal static class SqliteFile
{
    private const int SchemaVersion = 4;

    // The key is the row's place in the file, so a spot's day is one run of pages.
    private const string Schema = """
        CREATE TABLE reading (
            spot             TEXT    NOT NULL,
            measured_at      INTEGER NOT NULL, -- ms since 1970, UTC
            received_at      INTEGER NOT NULL, -- ms since 1970, UTC
            surface_celsius  REAL,
            air_celsius      REAL,
            humidity_percent REAL,
            sensor_celsius   REAL,
            light_lux        REAL,
            supply_volts     REAL,
            quality          TEXT    NOT NULL, -- good, suspect, rejected
            doubt            TEXT    NOT NULL, -- names joined by commas, empty when good
            PRIMARY KEY (spot, measured_at)
        ) WITHOUT ROWID;
        """;

    // Made of the readings and kept beside them: the nights read months of every spot, and those of many spots lie scattered in the file.
    private const string KeptSteps = """
        CREATE TABLE ten_minutes (
            spot                TEXT    NOT NULL,
            ending              INTEGER NOT NULL, -- ms since 1970, UTC; it holds what was measured in the ten minutes up to it
            good                INTEGER NOT NULL, -- how many readings are good
            readings            INTEGER NOT NULL, -- how many there are
            surface_celsius     REAL,             -- means of the good ones
            surface_max_celsius REAL,
            surface_min_celsius REAL,
            air_celsius         REAL,             -- means of those whose air is sound
            humidity_percent    REAL,
            heated_celsius      REAL,             -- mean surface of those doubted for the sensor's warmth alone
            doubts              TEXT,             -- names joined by commas, some twice
            PRIMARY KEY (spot, ending)
        ) WITHOUT ROWID;
        """;

    // As Reading.HasSoundAir.
    private const string HasSoundAir = "(quality = 'good' OR (quality = 'suspect' AND doubt NOT LIKE '%clock%' AND doubt NOT LIKE '%out-of-range%'))";

    /// <summary>What a step keeps of its readings, in the order of the table's columns.</summary>
    public const string StepOfReadings = $"""
        SUM(quality = 'good'), COUNT(*),
            AVG(CASE WHEN quality = 'good' THEN surface_celsius END),
            MAX(CASE WHEN quality = 'good' THEN surface_celsius END),
            MIN(CASE WHEN quality = 'good' THEN surface_celsius END),
            AVG(CASE WHEN {HasSoundAir} THEN air_celsius END),
            AVG(CASE WHEN {HasSoundAir} THEN humidity_percent END),
            AVG(CASE WHEN quality = 'suspect' AND doubt = 'sensor-heating' THEN surface_celsius END),
            GROUP_CONCAT(DISTINCT CASE WHEN doubt <> '' THEN doubt END)
        """;

    private const string StepsOfAllReadings = $"""
        INSERT INTO ten_minutes
        SELECT spot, (measured_at + 600000 - 1) / 600000 * 600000 AS ending, {StepOfReadings}
        FROM reading GROUP BY spot, ending;
        """;

    /// <summary>Length of the steps that are kept beside the readings.</summary>
    public static TimeSpan KeptStep { get; } = TimeSpan.FromMinutes(10);

    /// <summary>Opens a connection of its own for the writer: WAL, and every commit flushed to the disk.</summary>
    public static SqliteConnection OpenForWriting(string path)
    {
        if (Path.GetDirectoryName(Path.GetFullPath(path)) is { } folder)
            Directory.CreateDirectory(folder);
        var connection = Open(path, SqliteOpenMode.ReadWriteCreate, pooling: false);
        try
        {
            Execute(connection, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;");
            MakeSchema(connection, path);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>Opens a connection that only reads; it never waits for the writer.</summary>
    public static SqliteConnection OpenForReading(string path)
    {
        var connection = Open(path, SqliteOpenMode.ReadWrite, pooling: true);
        Execute(connection, "PRAGMA query_only = ON;");
        return connection;
    }

    /// <summary>Says what a file of readings holds.</summary>
    /// <exception cref="IOException">It is none, or a newer server's.</exception>
    public static async Task<string> TellAsync(DbConnection connection, CancellationToken cancellationToken)
    {
        await using var ask = connection.CreateCommand();
        ask.CommandText = "SELECT user_version, (SELECT COUNT(*) FROM sqlite_master WHERE name = 'reading') FROM pragma_user_version";
        await using (var row = await ask.ExecuteReaderAsync(cancellationToken))
        {
            await row.ReadAsync(cancellationToken);
            var (version, tables) = (row.GetInt64(0), row.GetInt64(1));
            if (tables == 0 || version == 0)
                throw new IOException($"{connection.DataSource} is not a file of readings: its table is missing");
            if (version > SchemaVersion)
                throw new IOException($"{connection.DataSource} has table version {version}, this server knows up to {SchemaVersion}; run the newer server that made it");
        }

        await using var count = connection.CreateCommand();
        count.CommandText = "SELECT COUNT(*), COUNT(DISTINCT spot), MAX(measured_at) FROM reading";
        await using var counted = await count.ExecuteReaderAsync(cancellationToken);
        await counted.ReadAsync(cancellationToken);
        return counted.IsDBNull(2)
            ? "none"
            : FormattableString.Invariant(
                $"{counted.GetInt64(0)} of {counted.GetInt64(1)} spots, the newest of {DateTimeOffset.FromUnixTimeMilliseconds(counted.GetInt64(2)):yyyy-MM-dd'T'HH:mm:ss'Z'}");
    }

    private static SqliteConnection Open(string path, SqliteOpenMode mode, bool pooling)
    {
        var connection = new SqliteConnection(
            new SqliteConnectionStringBuilder { DataSource = path, Mode = mode, Pooling = pooling }.ToString());
        connection.Open();
        return connection;
    }

    private static void MakeSchema(SqliteConnection connection, string path)
    {
        // Nothing is written then: a full disk keeps nobody from reading.
        if (Version(connection) == SchemaVersion)
            return;
        // Immediate: of two processes that open a new file together, the second finds the table made.
        using var transaction = connection.BeginTransaction(deferred: false);
        var version = Version(connection);
        if (version > SchemaVersion)
        {
            throw new ReadingStoreException(
                $"{path} has table version {version}, this server knows up to {SchemaVersion}; run the newer server that made it",
                null);
        }

        if (version == 0)
            Execute(connection, Schema);
        if (version < 4)
            Execute(connection, "DROP TABLE IF EXISTS ten_minutes;" + KeptSteps + StepsOfAllReadings);
        Execute(connection, $"PRAGMA user_version = {SchemaVersion};");
        transaction.Commit();
    }

    private static long Version(SqliteConnection connection)
    {
        using var ask = connection.CreateCommand();
        ask.CommandText = "PRAGMA user_version;";
        return (long)ask.ExecuteScalar()!;
    }

    private static void Execute(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The texts are constants of this file.
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }
}
