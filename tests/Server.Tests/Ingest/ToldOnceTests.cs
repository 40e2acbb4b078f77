using MQTTnet;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Ingest;

/// <summary>What the store cannot keep is told to the watch at once, and only once, however often its gateway sends it again.</summary>
public sealed class ToldOnceTests
{
    [Fact]
    public async Task A_reading_that_is_sent_again_until_it_is_stored_is_told_once()
    {
        await using var host = await StartAsync();
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        await using var told = host.Get<ReadingFeed>().ReadAllAsync(ends.Token).GetAsyncEnumerator(ends.Token);
        var client = await host.ConnectAsync(NorthGate);
        byte[] pack = ReadingPack.Write([host.Now(Plaza, 61)]);

        host.Store.Failure = "the disk is full";
        for (var i = 0; i < 3; i++)
            Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, (await SendAsync(client, NorthGate, pack)).ReasonCode);
        host.Store.Failure = null;
        for (var i = 0; i < 2; i++)
            Assert.Equal(MqttClientPublishReasonCode.Success, (await SendAsync(client, NorthGate, pack)).ReasonCode);
        Assert.Equal(MqttClientPublishReasonCode.Success, (await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 62, minutesAgo: -1)]))).ReasonCode);

        List<double?> heard = [];
        while (heard.LastOrDefault() != 62 && await told.MoveNextAsync())
            heard.Add(told.Current.Reading.SurfaceCelsius);
        Assert.Equal([61, 62], heard);
    }

    [Fact]
    public async Task A_pack_that_comes_again_after_it_was_stored_is_told_once_though_no_store_keeps_its_spread()
    {
        await using var host = await StartAsync();
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        await using var told = host.Get<ReadingFeed>().ReadAllAsync(ends.Token).GetAsyncEnumerator(ends.Token);
        var repeated = host.Now(Plaza, 61) with { SpreadKelvin = 0.4 };
        // By the gateway's clock the last one is later; all are of now by their age.
        var numbered = 0L;
        foreach (var reading in new[] { repeated, repeated, host.Now(Plaza, 62, minutesAgo: -1) with { SpreadKelvin = 0.4 } })
        {
            var outcome = await host.Get<IngestPipeline>().AcceptAsync(
                NorthGate, ReadingPack.Write([reading]), new PackOrigin(new PackNumber("boot", ++numbered), TimeSpan.FromSeconds(2), false));
            Assert.IsType<IngestOutcome.Accepted>(outcome);
        }

        List<double?> heard = [];
        while (heard.LastOrDefault() != 62 && await told.MoveNextAsync())
            heard.Add(told.Current.Reading.SurfaceCelsius);
        Assert.Equal([61, 62], heard);
    }
}
