using InfluxDB.Client;
using InfluxDB.Client.Api.Domain;
using InfluxDB.Client.Core.Exceptions;
using InfluxDB.Client.Core.Flux.Domain;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Store;

/// <summary>Readings in an InfluxDB 2.x bucket: batched writes in line protocol, questions in Flux.</summary>
/// <remarks>
/// InfluxDB replaces a point written again and tells nobody, so the one writer first asks which of a group's times the
/// bucket has and sends only the others. Two servers writing the same spots to one bucket would not see each other's.
/// </remarks>
internal sealed class InfluxReadingStore : IReadingStore, IAsyncDisposable
{
    private readonly StoreOptions _options;
    private readonly InfluxDBClient _client;
    private readonly GroupCommit _commits;

    public InfluxReadingStore(StoreOptions options)
    {
        _options = options;
        _client = new InfluxDBClient(new InfluxDBClientOptions(options.Url)
        {
            Token = options.ReadToken(),
            Org = options.Org,
            Bucket = options.Bucket,
            Timeout = options.RequestTimeout,
        });
        _commits = new GroupCommit(WriteAsync, options.QueuedBatches, options.ReadingsPerCommit);
    }

    /// <inheritdoc />
    public Task<IReadOnlyList<StoredReading>> AppendAsync(
        IReadOnlyList<StoredReading> readings, CancellationToken cancellationToken) =>
        _commits.AppendAsync(readings, cancellationToken);

    /// <inheritdoc />
    public async Task<IReadOnlyList<StoredReading>> RangeAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        if (from >= to) // InfluxDB refuses an empty range.
            return [];
        var rows = await AskAsync(InfluxText.Range(_options.Bucket, spot, from, to), cancellationToken);
        return [.. rows.Select(Read).OrderBy(stored => stored.Reading.MeasuredAt)];
    }

    /// <inheritdoc />
    /// <remarks>
    /// The rows travel and are taken together here: Flux windows close at their start where ours close at their end,
    /// and means over good readings only would need each reading's quality beside its value.
    /// </remarks>
    public async Task<IReadOnlyList<ReadingStep>> StepsAsync(
        SpotId spot, DateTimeOffset from, DateTimeOffset to, TimeSpan step, CancellationToken cancellationToken) =>
        ReadingSteps.Of(await RangeAsync(spot, from, to, cancellationToken), step);

    /// <inheritdoc />
    public async Task<StoredReading?> LatestAsync(SpotId spot, DateTimeOffset until, CancellationToken cancellationToken)
    {
        var newest = await TimesAsync(InfluxText.NewestTime(_options.Bucket, spot, until), cancellationToken);
        if (newest.Count == 0)
            return null;
        var time = DateTimeOffset.FromUnixTimeMilliseconds(newest.Max(one => one.At));
        return await RangeAsync(spot, time, time.AddMilliseconds(1), cancellationToken) is [var one, ..] ? one : null;
    }

    /// <inheritdoc />
    public async Task<IReadOnlyList<StoredReading>> LatestAsync(CancellationToken cancellationToken)
    {
        var latest = new List<StoredReading>();
        foreach (var (spot, at) in await TimesAsync(InfluxText.NewestTimes(_options.Bucket), cancellationToken))
        {
            var time = DateTimeOffset.FromUnixTimeMilliseconds(at);
            latest.AddRange(await RangeAsync(SpotId.Parse(spot), time, time.AddMilliseconds(1), cancellationToken));
        }

        return latest;
    }

    /// <inheritdoc />
    public async ValueTask DisposeAsync()
    {
        await _commits.DisposeAsync();
        _client.Dispose();
    }

    private async Task<IReadOnlyList<bool>> WriteAsync(IReadOnlyList<StoredReading> readings)
    {
        var known = await KnownTimesAsync(readings);
        var isNew = new bool[readings.Count];
        var lines = new List<string>(readings.Count);
        for (var i = 0; i < readings.Count; i++)
        {
            isNew[i] = known.Add((readings[i].Reading.Spot.Value, readings[i].Reading.MeasuredAt.ToUnixTimeMilliseconds()));
            if (isNew[i])
                lines.Add(InfluxText.Line(readings[i]));
        }

        if (lines.Count > 0)
        {
            await OrFailAsync(
                () => _client.GetWriteApiAsync().WriteRecordsAsync(lines, WritePrecision.Ms, _options.Bucket, _options.Org),
                "did not take readings");
        }

        return isNew;
    }

    private Task<HashSet<(string Spot, long At)>> KnownTimesAsync(IReadOnlyList<StoredReading> readings)
    {
        var spots = readings.Select(stored => stored.Reading.Spot).Distinct();
        var from = readings.Min(stored => stored.Reading.MeasuredAt);
        var to = readings.Max(stored => stored.Reading.MeasuredAt).AddMilliseconds(1);
        return TimesAsync(InfluxText.Times(_options.Bucket, spots, from, to), CancellationToken.None);
    }

    private async Task<HashSet<(string Spot, long At)>> TimesAsync(string flux, CancellationToken cancellationToken)
    {
        var rows = await AskAsync(flux, cancellationToken);
        return [.. rows.Select(row => ((string)row.GetValueByKey("spot"), Milliseconds(row)))];
    }

    private async Task<IEnumerable<FluxRecord>> AskAsync(string flux, CancellationToken cancellationToken)
    {
        List<FluxTable> tables = [];
        await OrFailAsync(
            async () => tables = await _client.GetQueryApi().QueryAsync(flux, _options.Org, cancellationToken),
            "did not answer");
        return tables.SelectMany(table => table.Records);
    }

    private async Task OrFailAsync(Func<Task> ask, string what)
    {
        try
        {
            await ask();
        }
        catch (Exception failure) when (failure is InfluxException or HttpRequestException or TimeoutException or TaskCanceledException
            and { CancellationToken.IsCancellationRequested: false })
        {
            throw new ReadingStoreException(
                $"InfluxDB at {ShownAddress.Of(_options.Url)}, bucket '{_options.Bucket}' {what}: {failure.Message}; "
                + "look at its address, the token's rights and whether it runs",
                failure);
        }
    }

    private static StoredReading Read(FluxRecord row) =>
        new(
            new Reading(SpotId.Parse((string)row.GetValueByKey("spot")), DateTimeOffset.FromUnixTimeMilliseconds(Milliseconds(row)))
            {
                SurfaceCelsius = OrNull(row, "surface_celsius"),
                AirCelsius = OrNull(row, "air_celsius"),
                HumidityPercent = OrNull(row, "humidity_percent"),
                SensorCelsius = OrNull(row, "sensor_celsius"),
                LightLux = OrNull(row, "light_lux"),
                SupplyVolts = OrNull(row, "supply_volts"),
                Quality = QualityNames.ReadQuality(row.GetValueByKey("quality") as string ?? ""),
                Doubt = QualityNames.ReadDoubt(row.GetValueByKey("doubt") as string ?? ""),
            },
            DateTimeOffset.FromUnixTimeMilliseconds((long)row.GetValueByKey("received_at")));

    private static long Milliseconds(FluxRecord row) =>
        row.GetTime() is { } time
            ? time.ToUnixTimeMilliseconds()
            : throw new ReadingStoreException($"InfluxDB answered a row without _time: {row}", null);

    // A column is missing when no reading of the answer had the field, and empty when this one had not.
    private static double? OrNull(FluxRecord row, string field) =>
        row.Values.TryGetValue(field, out var value) ? value as double? : null;
}
