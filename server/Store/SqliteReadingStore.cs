using System.Text.Json;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>Readings in a SQLite file beside the server. One writer commits in groups; readers do not wait for it.</summary>
internal sealed class SqliteReadingStore : IReadingStore, IAsyncDisposable
{
    private const string Fields = """
        r.spot, r.measured_at, r.received_at, r.surface_celsius, r.air_celsius, r.humidity_percent,
        r.sensor_celsius, r.light_lux, r.supply_volts, r.quality, r.doubt
        """;

    private const string Range = $"""
        SELECT {Fields} FROM reading r
        WHERE r.spot = $spot AND r.measured_at >= $from AND r.measured_at < $to ORDER BY r.measured_at;
        """;

    private const string Ranges = $"""
        SELECT {Fields} FROM json_each($spans) span CROSS JOIN reading r
        WHERE r.spot = $spot AND r.measured_at >= json_extract(span.value, '$[0]') AND r.measured_at < json_extract(span.value, '$[1]')
        ORDER BY r.measured_at;
        """;

    private const string Steps = $"""
        SELECT (measured_at + $step - 1) / $step * $step AS ending, {SqliteFile.StepOfReadings}
        FROM reading WHERE spot = $spot AND measured_at >= $from AND measured_at < $to
        GROUP BY ending ORDER BY ending;
        """;

    // Whole steps as they are kept, and those that a span cuts through at its ends from their readings.
    private const string KeptSteps = $"""
        SELECT (measured_at + $step - 1) / $step * $step AS ending, {SqliteFile.StepOfReadings}
        FROM reading WHERE spot = $spot AND measured_at >= $from AND measured_at <= $first - $step GROUP BY ending
        UNION ALL
        SELECT ending, good, readings, surface_celsius, surface_max_celsius, surface_min_celsius, air_celsius, humidity_percent, heated_celsius, doubts
        FROM ten_minutes WHERE spot = $spot AND ending >= $first AND ending <= $last
        UNION ALL
        SELECT (measured_at + $step - 1) / $step * $step AS ending, {SqliteFile.StepOfReadings}
        FROM reading WHERE spot = $spot AND measured_at > $last AND measured_at < $to GROUP BY ending
        ORDER BY ending;
        """;

    // Steps from spot to spot through the key; a plain GROUP BY would read every row of every year.
    private const string Latest = $"""
        WITH RECURSIVE spots(spot) AS (
            SELECT MIN(spot) FROM reading
            UNION ALL
            SELECT (SELECT MIN(spot) FROM reading WHERE spot > spots.spot) FROM spots WHERE spots.spot IS NOT NULL)
        SELECT {Fields} FROM spots
        JOIN reading r ON r.spot = spots.spot
            AND r.measured_at = (SELECT MAX(measured_at) FROM reading WHERE spot = spots.spot);
        """;

    private const string LatestOfSpot = $"""
        SELECT {Fields} FROM reading r WHERE r.spot = $spot AND r.measured_at <= $until ORDER BY r.measured_at DESC LIMIT 1;
        """;

    private const string DoubtCounts = """
        SELECT doubt, COUNT(*) FROM reading WHERE spot = $spot AND measured_at >= $from AND measured_at < $to GROUP BY doubt;
        """;

    private readonly string _path;
    private readonly SqliteWriter _writer;
    private readonly GroupCommit _commits;

    public SqliteReadingStore(StoreOptions options)
    {
        _path = options.Path;
        try
        {
            _writer = new SqliteWriter(_path);
        }
        catch (SqliteException failure)
        {
            throw Failed("cannot be opened", failure);
        }

        _commits = new GroupCommit(WriteAsync, options.QueuedBatches, options.ReadingsPerCommit);
    }

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken) =>
        _commits.AppendAsync(readings, cancellationToken);

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> RangeAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        QueryAsync(Range, ReadReading, cancellationToken,
            ("$spot", spot.Value), ("$from", CeilingMilliseconds(from)), ("$to", CeilingMilliseconds(to)));

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> RangesAsync(
        SpotId spot, IReadOnlyList<(DateTimeOffset From, DateTimeOffset To)> spans, CancellationToken cancellationToken) =>
        QueryAsync(Ranges, ReadReading, cancellationToken,
            ("$spot", spot.Value),
            ("$spans", JsonSerializer.Serialize(spans.Select(span => new[] { CeilingMilliseconds(span.From), CeilingMilliseconds(span.To) }))));

    /// <inheritdoc />
    public Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken)
    {
        var (first, end, length) = (CeilingMilliseconds(from), CeilingMilliseconds(to), ReadingSteps.StepMilliseconds(step));
        // The first step that begins in the span, and the last that ends in it.
        var (firstWhole, lastWhole) = (ReadingSteps.EndMilliseconds(first + length - 1, length), ReadingSteps.EndMilliseconds(end, length) - length);
        return step == SqliteFile.KeptStep && firstWhole <= lastWhole
            ? QueryAsync(KeptSteps, ReadStep, cancellationToken,
                ("$spot", spot.Value), ("$from", first), ("$to", end), ("$step", length), ("$first", firstWhole), ("$last", lastWhole))
            : QueryAsync(Steps, ReadStep, cancellationToken, ("$spot", spot.Value), ("$from", first), ("$to", end), ("$step", length));
    }

    /// <inheritdoc />
    public async Task<IReadOnlyDictionary<Doubt, int>> DoubtsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        (await QueryAsync(
            DoubtCounts, row => (Doubt: QualityNames.ReadDoubt(row.GetString(0)), Count: row.GetInt32(1)), cancellationToken,
            ("$spot", spot.Value), ("$from", CeilingMilliseconds(from)), ("$to", CeilingMilliseconds(to))))
        .GroupBy(row => row.Doubt).ToDictionary(group => group.Key, group => group.Sum(row => row.Count));

    /// <inheritdoc />
    public async Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken) =>
        await QueryAsync(LatestOfSpot, ReadReading, cancellationToken, ("$spot", spot.Value), ("$until", until.ToUnixTimeMilliseconds())) is [var one, ..] ? one : null;

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken) =>
        QueryAsync(Latest, ReadReading, cancellationToken);

    /// <inheritdoc />
    public async ValueTask DisposeAsync()
    {
        await _commits.DisposeAsync();
        _writer.Dispose();
    }

    private Task<IReadOnlyList<bool>> WriteAsync(IReadOnlyList<StoredReading> readings)
    {
        try
        {
            return Task.FromResult(_writer.Write(readings));
        }
        catch (SqliteException failure)
        {
            throw Failed("cannot be written", failure);
        }
    }

    // SQLite answers on the calling thread; a page's request should not hold one of the server's meanwhile.
    private Task<IReadOnlyList<T>> QueryAsync<T>(
        string sql, Func<SqliteDataReader, T> read, CancellationToken cancellationToken, params (string Name, object Value)[] values) =>
        Task.Run(
            () =>
            {
                try
                {
                    using var connection = SqliteFile.OpenForReading(_path);
                    using var command = connection.CreateCommand();
#pragma warning disable CA2100 // One of the constants above.
                    command.CommandText = sql;
#pragma warning restore CA2100
                    foreach (var (name, value) in values)
                        command.Parameters.AddWithValue(name, value);
                    using var reader = command.ExecuteReader();
                    var rows = new List<T>();
                    while (reader.Read())
                    {
                        cancellationToken.ThrowIfCancellationRequested();
                        rows.Add(read(reader));
                    }

                    return (IReadOnlyList<T>)rows;
                }
                catch (SqliteException failure)
                {
                    throw Failed("cannot be read", failure);
                }
            },
            cancellationToken);

    private static StoredReading ReadReading(SqliteDataReader row) =>
        new(
            new Reading(SpotId.Parse(row.GetString(0)), DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(1)))
            {
                SurfaceCelsius = OrNull(row, 3),
                AirCelsius = OrNull(row, 4),
                HumidityPercent = OrNull(row, 5),
                SensorCelsius = OrNull(row, 6),
                LightLux = OrNull(row, 7),
                SupplyVolts = OrNull(row, 8),
                Quality = QualityNames.ReadQuality(row.GetString(9)),
                Doubt = QualityNames.ReadDoubt(row.GetString(10)),
            },
            DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(2)));

    private static ReadingStep ReadStep(SqliteDataReader row) =>
        new(DateTimeOffset.FromUnixTimeMilliseconds(row.GetInt64(0)), row.GetInt32(1), row.GetInt32(2))
        {
            SurfaceCelsius = OrNull(row, 3),
            SurfaceMaxCelsius = OrNull(row, 4),
            SurfaceMinCelsius = OrNull(row, 5),
            AirCelsius = OrNull(row, 6),
            HumidityPercent = OrNull(row, 7),
            HeatedSurfaceCelsius = OrNull(row, 8),
            Doubts = row.IsDBNull(9) ? Doubt.None : QualityNames.ReadDoubt(row.GetString(9)),
        };

    private static double? OrNull(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetDouble(column);

    // Rows hold whole milliseconds: the first at or after a moment is its ceiling.
    private static long CeilingMilliseconds(DateTimeOffset moment) =>
        (moment.UtcTicks - DateTimeOffset.UnixEpoch.Ticks + TimeSpan.TicksPerMillisecond - 1) / TimeSpan.TicksPerMillisecond;

    private ReadingStoreException Failed(string what, SqliteException failure) =>
        new($"{_path} {what}: {DatabaseFaults.Words(failure)}", failure, DatabaseFaults.KindOf(failure));
}
