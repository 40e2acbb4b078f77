using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Store.SomeReadings;

namespace PavementWatch.Server.Tests.Store;

/// <summary>
/// The contract on InfluxDB: a real server where PAVEMENTWATCH_INFLUXDB_URL, _ORG, _TOKEN name one (its bucket
/// 'readings' must be empty before each test), the stand-in otherwise.
/// </summary>
public sealed class InfluxReadingStoreTests : ReadingStoreContract
{
    private LoopbackInflux? _standIn;

    private protected override async ValueTask<IReadingStore> OpenAsync()
    {
        if (Environment.GetEnvironmentVariable("PAVEMENTWATCH_INFLUXDB_URL") is { Length: > 0 } url)
        {
            return new InfluxReadingStore(new StoreOptions
            {
                Kind = StoreKind.InfluxDb,
                Url = url,
                Org = Environment.GetEnvironmentVariable("PAVEMENTWATCH_INFLUXDB_ORG") ?? "",
                Bucket = "readings",
                Token = Environment.GetEnvironmentVariable("PAVEMENTWATCH_INFLUXDB_TOKEN") ?? "",
            });
        }

        _standIn = await LoopbackInflux.StartAsync();
        return new InfluxReadingStore(OptionsFor(_standIn));
    }

    public override async ValueTask DisposeAsync()
    {
        await base.DisposeAsync();
        if (_standIn is not null)
            await _standIn.DisposeAsync();
    }

    [Fact]
    public async Task A_refusal_of_the_server_names_address_bucket_and_remedy()
    {
        Assert.SkipWhen(_standIn is null, "a real InfluxDB is set, and it would not refuse");
        // The body InfluxDB 2 sends with a wrong token: https://docs.influxdata.com/influxdb/v2/api/
        _standIn.Refusal = (401, """{"code":"unauthorized","message":"unauthorized access"}""");

        var refusal = await Assert.ThrowsAsync<ReadingStoreException>(() => Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop));
        await Assert.ThrowsAsync<ReadingStoreException>(() => Store.LatestAsync(Stop));

        Assert.Contains(_standIn.Url, refusal.Message, StringComparison.Ordinal);
        Assert.Contains("bucket 'readings'", refusal.Message, StringComparison.Ordinal);
        Assert.Contains("unauthorized access", refusal.Message, StringComparison.Ordinal);
        Assert.Contains("the token's rights", refusal.Message, StringComparison.Ordinal);
        _standIn.Refusal = null;
        Assert.Single(await Store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop));
    }

    [Fact]
    public async Task A_server_that_is_not_there_is_said_to_be_not_there()
    {
        var gone = await LoopbackInflux.StartAsync();
        var options = OptionsFor(gone);
        await gone.DisposeAsync();
        await using var store = new InfluxReadingStore(options);

        var refusal = await Assert.ThrowsAsync<ReadingStoreException>(() => store.AppendAsync([Good(Plaza, At("12:00"), 50)], Stop));

        Assert.Contains("whether it runs", refusal.Message, StringComparison.Ordinal);
    }

    internal static StoreOptions OptionsFor(LoopbackInflux influx) => new()
    {
        Kind = StoreKind.InfluxDb,
        Url = influx.Url,
        Org = "ferngate",
        Bucket = "readings",
        Token = "made-up-for-the-test",
    };
}
