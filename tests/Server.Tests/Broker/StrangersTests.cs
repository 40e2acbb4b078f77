using System.Net;
using System.Net.Sockets;
using System.Text;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using MQTTnet;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>What strangers and broken gateways may cost, over real sockets on the loopback addresses.</summary>
public sealed class StrangersTests
{
    private const int Places = 12;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Gateways_get_in_while_strangers_hold_every_place_with_silent_sockets()
    {
        await using var host = await StartAsync(h =>
        {
            h.Settings["Broker:MaxConnections"] = $"{Places}";
            h.Settings["Broker:MaxConnectionsPerAddress"] = $"{Places / 3}";
            h.Settings["Broker:ConnectPatience"] = "00:01:00";
        });
        List<Socket> silent = [];
        foreach (var address in new[] { "127.0.0.2", "127.0.0.3", "127.0.0.4" })
        {
            for (var i = 0; i < Places / 3; i++)
                silent.Add(await SocketAsync(host, address));
        }

        var north = await host.ConnectAsync(NorthGate);
        var quarry = await host.ConnectAsync(Quarry);

        Assert.True((await SendAsync(north, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
        Assert.True((await SendAsync(quarry, Quarry, ReadingPack.Write([host.Now(Steps, 40)]))).IsSuccess);
        // A further one of a stranger makes room of a stranger's, never of a gateway that has said who it is.
        for (var i = 0; i < 2 * Places; i++)
            silent.Add(await SocketAsync(host, $"127.0.0.{5 + i}"));
        Assert.True((await SendAsync(north, NorthGate, ReadingPack.Write([host.Now(Plaza, 41, 1)]))).IsSuccess);
        silent.ForEach(socket => socket.Dispose());
    }

    [Fact]
    public async Task An_address_has_its_share_of_the_places_and_no_more()
    {
        await using var host = await StartAsync(h =>
        {
            h.Settings["Broker:MaxConnections"] = $"{Places}";
            h.Settings["Broker:ConnectPatience"] = "00:01:00";
        });
        using var first = await SocketAsync(host, "127.0.0.2");
        using var second = await SocketAsync(host, "127.0.0.2");
        using var third = await SocketAsync(host, "127.0.0.2");

        using var fourth = await SocketAsync(host, "127.0.0.2");

        Assert.True(await IsClosedAsync(fourth)); // A quarter of twelve is three.
        Assert.Contains("raise Broker:MaxConnectionsPerAddress", await host.LoggedAsync("127.0.0.2 turned away"), StringComparison.Ordinal);
        Assert.False(first.Poll(0, SelectMode.SelectRead));
    }

    [Fact]
    public async Task Who_does_not_say_who_they_are_is_hung_up_on_however_slowly_they_speak()
    {
        await using var host = await StartAsync(h => h.Settings["Broker:ConnectPatience"] = "00:00:01");
        using var silent = await SocketAsync(host, "127.0.0.2");
        using var slow = await SocketAsync(host, "127.0.0.2");
        await slow.SendAsync(new byte[] { 0x10, 0x20, 0x00 }, Stop); // CONNECT, of 32 bytes, of which one comes.
        var gateway = await host.ConnectAsync(NorthGate);

        Assert.True(await IsClosedAsync(silent));
        Assert.True(await IsClosedAsync(slow));
        Assert.True((await SendAsync(gateway, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
    }

    [Fact]
    public async Task Wrong_passwords_are_soon_not_looked_at_and_the_wait_ends()
    {
        await using var host = await StartAsync();
        for (var i = 0; i < SignInPolicy.FreeOfName; i++)
            Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, await TryAsync(host, "north-gate", $"guess {i}"));
        var looks = host.Gateways.Looks;

        Assert.Equal(MqttClientConnectResultCode.ConnectionRateExceeded, await TryAsync(host, "north-gate", "another guess"));
        Assert.Equal(looks, host.Gateways.Looks);
        // Another gateway behind the same router is let in.
        Assert.Equal(MqttClientConnectResultCode.Success, await TryAsync(host, "quarry", TestDirectory.PasswordOf("quarry")));

        host.Time.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(MqttClientConnectResultCode.Success, await TryAsync(host, "north-gate", TestDirectory.PasswordOf("north-gate")));
    }

    [Fact]
    public async Task Guesses_under_many_names_close_the_address_for_ever_longer()
    {
        await using var host = await StartAsync();
        for (var i = 0; i < SignInPolicy.FreeOfAddress; i++)
            Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, await TryAsync(host, $"gateway-{i}", "guess"));

        for (var wait = 1; wait <= 8; wait *= 2)
        {
            Assert.Equal(MqttClientConnectResultCode.ConnectionRateExceeded, await TryAsync(host, "one-more", "guess"));
            host.Time.Advance(TimeSpan.FromSeconds(wait - 0.5));
            Assert.Equal(MqttClientConnectResultCode.ConnectionRateExceeded, await TryAsync(host, "one-more", "guess"));
            host.Time.Advance(TimeSpan.FromSeconds(0.5));
            Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, await TryAsync(host, $"after-{wait}", "guess"));
        }
    }

    [Fact]
    public async Task A_gateway_that_was_right_before_comes_in_from_an_address_that_guesses_until_its_secret_changes()
    {
        await using var server = await RunningServer.StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(NorthGate, "secret", [RunningServer.NorthGate.Id], Stop);
        using var policy = new SignInPolicy(server.Get<IGatewayDirectory>(), server.Time);
        Assert.Equal(SignInOutcome.Good, await policy.JudgeAsync(IPAddress.Loopback, "north-gate", "secret", Stop));
        for (var i = 0; i < SignInPolicy.FreeOfAddress; i++)
            await policy.JudgeAsync(IPAddress.Loopback, $"gateway-{i}", "guess", Stop);

        Assert.Equal(SignInOutcome.TooMany, await policy.JudgeAsync(IPAddress.Loopback, "north-gate", "wrong", Stop));
        Assert.Equal(SignInOutcome.Good, await policy.JudgeAsync(IPAddress.Loopback, "north-gate", "secret", Stop));
        Assert.Equal(SignInOutcome.Wrong, await policy.JudgeAsync(IPAddress.Parse("127.0.0.9"), "north-gate", "wrong", Stop));

        await server.Get<GatewayStore>().SetGatewayAsync(NorthGate, "new secret", [RunningServer.NorthGate.Id], Stop);
        Assert.False(await server.Get<IGatewayDirectory>().IsKnownGoodAsync("north-gate", "secret", Stop));
        Assert.Equal(SignInOutcome.TooMany, await policy.JudgeAsync(IPAddress.Loopback, "north-gate", "secret", Stop));
    }

    [Fact]
    public async Task A_flood_of_bad_packs_ends_its_connection_and_is_one_line_and_a_count_in_the_log()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        var cut = new TaskCompletionSource();
        client.DisconnectedAsync += _ =>
        {
            cut.TrySetResult();
            return Task.CompletedTask;
        };
        var sent = 0;
        var bad = Encoding.UTF8.GetBytes("surface=58");
        try
        {
            for (; sent < 2000; sent++)
                await SendAsync(client, NorthGate, bad);
        }
        catch (Exception failure) when (failure is MQTTnet.Exceptions.MqttCommunicationException or MQTTnet.Exceptions.MqttClientDisconnectedException or InvalidOperationException)
        {
            // As it should be.
        }

        await cut.Task.WaitAsync(Patience.Span, Stop);
        Assert.InRange(sent, 290, 310); // 300 at once, by definition; the clock stands still.
        Assert.Single(host.LogLines, line => line.Contains("pack refused", StringComparison.Ordinal));
        Assert.InRange(host.Count("not-json"), sent, sent + 1);
        host.Time.Advance(RefusalLog.Span);
        Assert.Contains("north-gate: ", await host.LoggedAsync("more in the last minute, not-json"), StringComparison.Ordinal);

        // A good pack is taken from it at once, and after a while a bad one is answered again.
        var again = await host.ConnectAsync(NorthGate);
        Assert.True((await SendAsync(again, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
        host.Time.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(MqttClientPublishReasonCode.PayloadFormatInvalid, (await SendAsync(again, NorthGate, bad)).ReasonCode);
        Assert.True((await SendAsync(again, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
    }

    [Fact]
    public async Task Packs_dated_by_another_clock_are_one_line_a_minute_however_many_come_and_their_connection_lives()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        // As one that halves a backlog of two thousand may: more than it may send that is refused.
        for (var i = 0; i < GatewayQuota.BadAtOnce + 50; i++)
        {
            var ahead = host.Now(Plaza, 20) with { MeasuredAt = host.Time.GetUtcNow().AddDays(1).AddMinutes(i) };
            Assert.Equal(MqttClientPublishReasonCode.ImplementationSpecificError, (await SendAsync(client, NorthGate, ReadingPack.Write([ahead]))).ReasonCode);
        }

        Assert.Single(host.LogLines, line => line.Contains("other-clock", StringComparison.Ordinal));
        host.Time.Advance(RefusalLog.Span);
        Assert.Contains($"north-gate: {GatewayQuota.BadAtOnce + 49} more", await host.LoggedAsync("more in the last minute, other-clock"), StringComparison.Ordinal);
        Assert.True((await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
    }

    [Theory]
    [InlineData("sent back", "sent-back")]
    [InlineData("packs missing", "packs-missing")]
    public async Task What_keeps_going_wrong_with_a_gateways_packs_is_one_line_and_a_count(string line, string reason)
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        host.Store.Failure = reason == "sent-back" ? "disk is full" : null;
        for (var i = 0; i < 30; i++)
            await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40, i)]), "boot", 2 * i);

        Assert.Single(host.LogLines, said => said.Contains(line, StringComparison.Ordinal));
        host.Time.Advance(RefusalLog.Span);
        await host.LoggedAsync($"more in the last minute, {reason}");
    }

    [Fact]
    public async Task A_gateway_that_connects_again_and_again_is_a_line_each_way_and_a_count()
    {
        await using var host = await StartAsync();
        for (var i = 0; i < 20; i++)
            (await host.ConnectAsync(NorthGate)).Dispose();
        await host.ConnectAsync(Quarry);

        await host.LoggedAsync("gateway north-gate disconnected");
        Assert.Single(host.LogLines, line => line.Contains("gateway north-gate connected", StringComparison.Ordinal));
        await host.LoggedAsync("gateway quarry connected");
        host.Time.Advance(RefusalLog.Span);
        Assert.Contains("north-gate: 19 more", await host.LoggedAsync("more in the last minute, connected"), StringComparison.Ordinal);
        Assert.Single(host.LogLines, line => line.Contains("gateway north-gate disconnected", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_flood_of_statuses_is_answered_ever_later_writes_no_more_than_one_a_second_and_holds_up_nobody_else()
    {
        await using var host = await StartAsync();
        var (north, quarry) = (await host.ConnectAsync(NorthGate), await host.ConnectAsync(Quarry));
        for (var i = 0; i < GatewayQuota.StatusesAtOnce; i++)
            Assert.True((await StatusAsync(north, $"1.0.{i}")).IsSuccess);
        var retained = Path.Combine(host.Folder, "retained.json");
        var before = await File.ReadAllTextAsync(retained, Stop);

        var late = StatusAsync(north, "2.0.0");
        await host.LoggedAsync("sends more statuses than it may");
        Assert.True((await SendAsync(quarry, Quarry, ReadingPack.Write([host.Now(Steps, 40)]))).IsSuccess);
        Assert.False(late.IsCompleted);
        Assert.Equal(before, await File.ReadAllTextAsync(retained, Stop));

        for (var i = 0; i < 3; i++)
        {
            host.Time.Advance(TimeSpan.FromSeconds(1));
            Assert.True((await late.WaitAsync(Patience.Span, Stop)).IsSuccess);
            late = StatusAsync(north, $"2.0.{i + 1}");
        }

        await Patience.UntilAsync(() => host.Get<GatewayStatusBoard>().Find(NorthGate)?.Report?.Version == "2.0.2", () => "the last status was not taken");
        Assert.Single(host.LogLines, line => line.Contains("sends more statuses", StringComparison.Ordinal));
        host.Time.Advance(TimeSpan.FromSeconds(1));
        Assert.True((await late.WaitAsync(Patience.Span, Stop)).IsSuccess);
    }

    [Fact]
    public async Task More_packs_than_a_gateway_may_send_are_answered_later_and_each_that_was_answered_is_stored()
    {
        await using var host = await StartAsync(h => h.Settings["Broker:MaxMessagesPerSecond"] = "10");
        var client = await host.ConnectAsync(NorthGate);
        var nothing = ReadingPack.Write([]);
        for (var i = 0; i < 10 * GatewayQuota.SecondsAtOnce; i++)
            Assert.True((await SendAsync(client, NorthGate, nothing)).IsSuccess);

        for (var i = 0; i < 5; i++)
        {
            var late = SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40 + i, i)]));
            await host.LoggedAsync("sends more messages than it may");
            // Moved until the answer comes: the wait may begin only after the move.
            while (!late.IsCompleted)
            {
                host.Time.Advance(TimeSpan.FromMilliseconds(100));
                await Task.WhenAny(late, Task.Delay(20, Stop));
            }

            Assert.True((await late).IsSuccess);
        }

        Assert.Equal(5, host.Count("pavementwatch.ingest.stored"));
    }

    [Fact]
    public void A_gateways_messages_wait_their_turn_up_to_some_seconds_and_those_that_would_wait_longer_come_again()
    {
        var time = new FakeTimeProvider();
        var quota = new GatewayQuota(Options.Create(new BrokerOptions()), time);
        for (var i = 0; i < 200 * GatewayQuota.SecondsAtOnce; i++)
            Assert.Equal(TimeSpan.Zero, quota.Take(NorthGate, isStatus: false));

        Assert.Equal(TimeSpan.FromMilliseconds(5), quota.Take(NorthGate, isStatus: false)); // 200 a second.
        Assert.Equal(TimeSpan.FromMilliseconds(10), quota.Take(NorthGate, isStatus: false));
        Assert.Equal(TimeSpan.Zero, quota.Take(Quarry, isStatus: false));
        var waiting = 2;
        while (quota.Take(NorthGate, isStatus: false) is not null)
            waiting++;
        Assert.Equal(200 * GatewayQuota.LongestWait.TotalSeconds, waiting);

        time.Advance(GatewayQuota.LongestWait + TimeSpan.FromSeconds(1));
        Assert.Equal(TimeSpan.Zero, quota.Take(NorthGate, isStatus: false));
    }

    private static Task<MqttClientPublishResult> StatusAsync(IMqttClient client, string version) => client.PublishAsync(
        new MqttApplicationMessageBuilder().WithTopic(Topics.Status(NorthGate)).WithRetainFlag()
            .WithPayload($$"""{"state":"online","version":"{{version}}"}""")
            .WithQualityOfServiceLevel(MQTTnet.Protocol.MqttQualityOfServiceLevel.AtLeastOnce).Build(),
        Stop);

    private static async Task<MqttClientConnectResultCode> TryAsync(BrokerHost host, string name, string password)
    {
        using var client = new MqttClientFactory().CreateMqttClient();
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", host.Broker.Port)
            .WithProtocolVersion(MQTTnet.Formatter.MqttProtocolVersion.V500).WithClientId(name).WithCredentials(name, password).Build();
        return (await client.ConnectAsync(options, Stop)).ResultCode;
    }

    private static async Task<Socket> SocketAsync(BrokerHost host, string from)
    {
        var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
        socket.Bind(new IPEndPoint(IPAddress.Parse(from), 0));
        await socket.ConnectAsync(IPAddress.Loopback, host.Broker.Port, Stop);
        return socket;
    }

    private static async Task<bool> IsClosedAsync(Socket socket)
    {
        using var patience = Patience.Token();
        try
        {
            return await socket.ReceiveAsync(new byte[16], patience.Token) == 0;
        }
        catch (SocketException)
        {
            return true;
        }
    }
}
