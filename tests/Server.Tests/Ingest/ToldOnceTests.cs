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
}
