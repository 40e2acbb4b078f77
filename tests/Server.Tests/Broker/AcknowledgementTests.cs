using MQTTnet;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Broker;

public sealed class AcknowledgementTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_pack_is_stored_acknowledged_and_told_to_the_feed()
    {
        await using var host = await StartAsync();
        var feed = host.Get<ReadingFeed>().ReadAllAsync(Stop);
        var client = await host.ConnectAsync(NorthGate);

        var answer = await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 58.25)]));

        Assert.Equal(MqttClientPublishReasonCode.Success, answer.ReasonCode);
        var stored = Assert.Single(await host.Store.LatestAsync(Stop));
        Assert.Equal(host.Now(Plaza, 58.25), stored.Reading);
        Assert.Equal(host.Time.GetUtcNow(), stored.ReceivedAt);
        await foreach (var told in feed)
        {
            Assert.Equal(new HeardReading(stored.Reading, stored.Reading.MeasuredAt), told);
            break;
        }

        Assert.Equal(1, host.Count("pavementwatch.ingest.stored"));
    }

    [Fact]
    public async Task No_acknowledgement_is_sent_before_the_commit()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        host.Store.Close();

        var sending = SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 58)]));
        await host.Store.Reached.Task.WaitAsync(Stop);
        // The server answers others meanwhile, so an acknowledgement would have had the time to arrive.
        var other = await host.ConnectAsync(Quarry);
        for (var i = 0; i < 20; i++)
            await other.PingAsync(Stop);

        Assert.False(sending.IsCompleted);
        Assert.Empty(await host.Store.LatestAsync(Stop));
        host.Store.Open();
        Assert.Equal(MqttClientPublishReasonCode.Success, (await sending).ReasonCode);
        Assert.Single(await host.Store.LatestAsync(Stop));
    }

    [Fact]
    public async Task A_store_that_fails_never_gives_a_successful_acknowledgement_and_the_same_pack_succeeds_later()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        var pack = ReadingPack.Write([host.Now(Plaza, 58)]);
        host.Store.Failure = "disk is full";

        var refused = await SendAsync(client, NorthGate, pack, "a", 1);
        host.Store.Failure = null;
        var taken = await SendAsync(client, NorthGate, pack, "a", 1);

        Assert.Equal(MqttClientPublishReasonCode.UnspecifiedError, refused.ReasonCode);
        Assert.Contains("send them again", refused.ReasonString, StringComparison.Ordinal);
        Assert.Equal(MqttClientPublishReasonCode.Success, taken.ReasonCode);
        Assert.Single(await host.Store.LatestAsync(Stop));
        Assert.Equal(1, host.Count("pavementwatch.ingest.unavailable"));
        Assert.Contains("disk is full", await host.LoggedAsync("sent back"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_gateway_that_vanishes_before_the_commit_changes_nothing_and_the_feed_is_told()
    {
        await using var host = await StartAsync();
        var feed = host.Get<ReadingFeed>().ReadAllAsync(Stop);
        var client = await host.ConnectAsync(NorthGate);
        host.Store.Close();
        var sending = SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 58)]));
        await host.Store.Reached.Task.WaitAsync(Stop);

        client.Dispose();
        await host.LoggedAsync("gateway north-gate connected");
        host.Store.Open();

        await foreach (var told in feed)
        {
            Assert.Equal(58, told.Reading.SurfaceCelsius);
            break;
        }

        await Assert.ThrowsAnyAsync<Exception>(() => sending);
        var again = await host.ConnectAsync(NorthGate);
        Assert.Equal(
            MqttClientPublishReasonCode.Success,
            (await SendAsync(again, NorthGate, ReadingPack.Write([host.Now(Plaza, 58)]))).ReasonCode);
        Assert.Equal(1, host.Count("pavementwatch.ingest.duplicate"));
    }

    [Fact]
    public async Task A_backlog_of_forty_minutes_is_one_pack_and_sent_twice_it_is_stored_once()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        var backlog = Enumerable.Range(0, 40).Select(minute => host.Now(Plaza, 50 + minute / 8.0, 40 - minute)).ToList();
        var pack = Assert.Single(ReadingPack.Split(backlog)).Payload.ToArray();

        var first = await SendAsync(client, NorthGate, pack);
        var feed = host.Get<ReadingFeed>().ReadAllAsync(Stop);
        var second = await SendAsync(client, NorthGate, pack);
        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 61)]));

        Assert.True(first.IsSuccess && second.IsSuccess);
        var stored = await host.Store.RangeAsync(Plaza, host.Time.GetUtcNow().AddHours(-1), host.Time.GetUtcNow(), Stop);
        Assert.Equal(backlog, stored.Select(one => one.Reading));
        Assert.Equal(41, host.Count("pavementwatch.ingest.stored"));
        Assert.Equal(40, host.Count("pavementwatch.ingest.duplicate"));
        await foreach (var told in feed)
        {
            Assert.Equal(61, told.Reading.SurfaceCelsius); // The duplicates were not told a second time.
            break;
        }
    }

    [Fact]
    public async Task Many_gateways_at_once_lose_nothing()
    {
        await using var host = await StartAsync(h =>
        {
            for (var i = 0; i < 20; i++)
                h.Gateways.Spots[$"gate-{i}"] = [$"spot-{i}"];
        });

        await Task.WhenAll(Enumerable.Range(0, 20).Select(async i =>
        {
            var gateway = GatewayId.Parse($"gate-{i}");
            var client = await host.ConnectAsync(gateway);
            for (var minute = 0; minute < 25; minute++)
            {
                var answer = await SendAsync(
                    client, gateway, ReadingPack.Write([host.Now(SpotId.Parse($"spot-{i}"), 30 + minute, 25 - minute)]), "b", minute);
                Assert.Equal(MqttClientPublishReasonCode.Success, answer.ReasonCode);
            }
        }));

        Assert.Equal(500, host.Count("pavementwatch.ingest.stored"));
        Assert.Equal(20, (await host.Store.LatestAsync(Stop)).Count(stored => stored.Reading.SurfaceCelsius == 54));
        Assert.Equal(0, host.Count("gap"));
    }

    [Fact]
    public async Task Skipped_pack_numbers_are_counted_logged_and_closed_by_the_late_one()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        foreach (var sequence in new long[] { 4, 5, 9 })
            await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40, (int)sequence)]), "boot-1", sequence);

        Assert.Equal([6, 7, 8], host.Get<PackLedger>().Missing(NorthGate));
        Assert.Equal(3, host.Count("gap"));
        Assert.Contains("3 packs missing from number 6 on; look at its outbox", await host.LoggedAsync("missing"), StringComparison.Ordinal);

        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40, 7)]), "boot-1", 7);
        Assert.Equal([6, 8], host.Get<PackLedger>().Missing(NorthGate));
        Assert.Equal(1, host.Count("late"));

        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40, 2)]), "boot-2", 1);
        Assert.Empty(host.Get<PackLedger>().Missing(NorthGate));
    }
}
