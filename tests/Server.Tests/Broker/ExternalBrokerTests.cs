using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Tests.Store;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>The server beside another broker: a real mosquitto, as a child process on a free port.</summary>
public sealed class ExternalBrokerTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Packs_come_through_and_are_stored_told_and_counted()
    {
        await using var mosquitto = await Mosquitto.StartAsync();
        await using var host = await StartAsync(h => mosquitto.Configure(h));
        await host.LoggedAsync("connected to broker");
        var feed = host.Get<ReadingFeed>().ReadAllAsync(Stop);
        var client = await mosquitto.ConnectAsync(host);

        await SendAsync(client, NorthGate, "no pack"u8.ToArray());
        await SendAsync(client, NorthGate, new byte[300 * 1024]);
        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 58)]), "a", 3);
        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 59, 1)]), "a", 5);
        await foreach (var told in feed)
        {
            if (told.Reading.SurfaceCelsius == 59)
                break;
        }

        Assert.True(host.Broker.IsUp);
        Assert.Equal(58, Assert.Single(await host.Store.LatestAsync(Stop)).Reading.SurfaceCelsius);
        Assert.Equal((1, 1), (host.Count("not-json"), host.Count("payload-too-large")));
        await Patience.UntilAsync(() => host.Count("gap") == 1, () => "the gap was not noted");
        Assert.Equal([4], host.Get<PackLedger>().Missing(NorthGate));
    }

    [Fact]
    public async Task A_pack_that_came_while_the_server_was_away_or_failing_is_stored_at_last()
    {
        await using var mosquitto = await Mosquitto.StartAsync();
        var folder = Directory.CreateTempSubdirectory("broker-").FullName;
        var before = new BrokerHost { Folder = folder, KeepFolder = true };
        mosquitto.Configure(before);
        await using (await StartAsync(before))
        {
            await before.LoggedAsync("connected to broker");
            // Taken by the server, but neither stored nor acknowledged when it stops.
            before.Store.Failure = "disk is full";
            var early = await mosquitto.ConnectAsync(before);
            await SendAsync(early, NorthGate, ReadingPack.Write([before.Now(Plaza, 51, 3)]));
            await before.LoggedAsync("sent back");
        }

        await using var after = new BrokerHost { Folder = folder };
        mosquitto.Configure(after);
        var client = await mosquitto.ConnectAsync(after);
        await SendAsync(client, NorthGate, ReadingPack.Write([after.Now(Plaza, 52, 2)]));

        await StartAsync(after);
        await after.LoggedAsync("connected to broker");

        await Patience.UntilAsync(() => after.Count("pavementwatch.ingest.stored") == 2, () => $"stored {after.Count("pavementwatch.ingest.stored")} of 2");
        var stored = await after.Store.RangeAsync(Plaza, after.Time.GetUtcNow().AddHours(-1), after.Time.GetUtcNow(), Stop);
        Assert.Equal([51, 52], stored.Select(one => one.Reading.SurfaceCelsius));
    }

    [Fact]
    public async Task A_store_that_fails_for_a_while_is_tried_again_without_losing_the_connection()
    {
        await using var mosquitto = await Mosquitto.StartAsync();
        await using var host = await StartAsync(h => mosquitto.Configure(h));
        await host.LoggedAsync("connected to broker");
        host.Store.Failure = "disk is full";
        var client = await mosquitto.ConnectAsync(host);
        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 58)]));
        await host.LoggedAsync("sent back");

        host.Store.Failure = null;
        await Patience.UntilAsync(
            () =>
            {
                host.Time.Advance(TimeSpan.FromSeconds(5)); // The pause between attempts.
                return host.Count("pavementwatch.ingest.stored") == 1;
            },
            () => "not tried again");

        Assert.True(host.Broker.IsUp);
    }

    [Fact]
    public async Task Settings_and_status_go_through_the_other_broker_too()
    {
        await using var mosquitto = await Mosquitto.StartAsync();
        await using var host = await StartAsync(h => mosquitto.Configure(h));
        await host.LoggedAsync("connected to broker");
        var client = await mosquitto.ConnectAsync(host);
        var read = new TaskCompletionSource<string>();
        client.ApplicationMessageReceivedAsync += message =>
        {
            read.TrySetResult(message.ApplicationMessage.ConvertPayloadToString());
            return Task.CompletedTask;
        };

        await host.Broker.PublishSettingsAsync(NorthGate, "{}"u8.ToArray(), Stop);
        await client.SubscribeAsync(Topics.Settings(NorthGate), MqttQualityOfServiceLevel.AtLeastOnce, Stop);
        await client.PublishAsync(
            new MqttApplicationMessageBuilder().WithTopic(Topics.Status(NorthGate)).WithPayload("""{"state":"online"}""").WithRetainFlag().Build(),
            Stop);

        Assert.Equal("{}", await read.Task.WaitAsync(Stop));
        await Patience.UntilAsync(() => host.Get<GatewayStatusBoard>().Find(NorthGate)?.Online == true, () => "no status came");
    }

    [Fact]
    public async Task A_broker_that_is_not_there_is_named_and_tried_again()
    {
        var port = ChildProcess.FreePort();
        await using var host = await StartAsync(h =>
        {
            h.Settings["Broker:Kind"] = "external";
            h.Settings["Broker:External:Host"] = "127.0.0.1";
            h.Settings["Broker:External:Port"] = port.ToString();
            h.Settings["Broker:External:Tls"] = "false";
        });
        Assert.Contains($"no connection to broker 127.0.0.1:{port}", await host.LoggedAsync("trying again in 00:00:05"), StringComparison.Ordinal);
        Assert.False(host.Broker.IsUp);

        await using var mosquitto = await Mosquitto.StartAsync(port);
        await Patience.UntilAsync(
            () =>
            {
                host.Time.Advance(TimeSpan.FromSeconds(5));
                return host.Broker.IsUp;
            },
            () => "not tried again");
    }
}
