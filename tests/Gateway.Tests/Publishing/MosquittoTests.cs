using System.Diagnostics;
using System.Net.Sockets;
using Microsoft.Extensions.Time.Testing;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>The gateway against a broker of other origin, which keeps to the standard in its own way.</summary>
public sealed class MosquittoTests : IAsyncLifetime
{
    private const string Program = "/usr/sbin/mosquitto";

    private readonly TemporaryFolder _folder = new();
    private readonly int _port = TestBroker.FreePort();
    private Process? _broker;

    public async ValueTask InitializeAsync()
    {
        Assert.SkipUnless(File.Exists(Program), $"Debian's package mosquitto is not installed ({Program})");
        await StartAsync();
    }

    public ValueTask DisposeAsync()
    {
        Kill();
        _folder.Dispose();
        return ValueTask.CompletedTask;
    }

    [Fact]
    public async Task Readings_survive_a_killed_broker()
    {
        var seen = new List<DateTimeOffset>();
        await using var gateway = new TestGateway(_folder["."], _port, new FakeTimeProvider(Some.Noon.AddDays(1)));
        gateway.Outbox.Append([.. Enumerable.Range(0, 1000).Select(minute => Some.Reading(minute))]);
        using (await ListenAsync(seen))
        {
            await gateway.StartAsync();
            await UntilAsync(() => Count(seen) >= 1000);
        }

        Kill();
        gateway.Outbox.Append([.. Enumerable.Range(1000, 1000).Select(minute => Some.Reading(minute))]);
        await gateway.WarningAsync("no connection");
        await StartAsync();
        // A broker with nobody to hand a pack to says so; it counts as not taken, so all of them are heard.
        using (await ListenAsync(seen))
            await UntilAsync(() => gateway.Outbox.State().Waiting == 0 && All(seen).Distinct().Count() == 2000);
    }

    [Fact]
    public async Task Two_gateways_under_one_name_hear_of_each_other_from_this_broker_too()
    {
        Directory.CreateDirectory(_folder["one"]);
        Directory.CreateDirectory(_folder["other"]);
        var time = new FakeTimeProvider(Some.Noon.AddDays(1));
        await using var one = new TestGateway(_folder["one"], _port, time, ("Publishing:LongestPause", "00:01:00"));
        await using var other = new TestGateway(_folder["other"], _port, time, ("Publishing:LongestPause", "00:01:00"));
        await one.StartAsync();
        await other.StartAsync();

        await one.WarningAsync("two gateways must not run under one name", times: 3);
        await other.WarningAsync("two gateways must not run under one name", times: 3);
    }

    [Fact]
    public async Task Will_says_offline_when_the_gateway_vanishes()
    {
        var options = new PublishingOptions { BrokerHost = "127.0.0.1", BrokerPort = _port, Tls = false };
        var statuses = new List<string>();
        using var listener = await ConnectAsync("listener", message =>
        {
            lock (statuses)
                statuses.Add(message);
        });
        var link = await MqttLink.ConnectAsync(options, GatewayId.Parse("quarry"), _ => { }, TestContext.Current.CancellationToken);
        await link.SendStatusAsync("{\"state\":\"online\"}"u8.ToArray(), TestContext.Current.CancellationToken);

        await link.DisposeAsync();

        await UntilAsync(() => Count(statuses) >= 2);
        Assert.Equal(["{\"state\":\"online\"}", "{\"state\":\"offline\"}"], statuses);
    }

    private async Task<IMqttClient> ListenAsync(List<DateTimeOffset> seen) =>
        await ConnectAsync("readings-listener", _ => { }, payload =>
        {
            lock (seen)
                seen.AddRange(Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(payload, Some.Noon.AddDays(60))).Readings.Select(reading => reading.MeasuredAt));
        });

    private async Task<IMqttClient> ConnectAsync(string id, Action<string> onStatus, Action<byte[]>? onReadings = null)
    {
        var factory = new MqttClientFactory();
        var client = factory.CreateMqttClient();
        client.ApplicationMessageReceivedAsync += message =>
        {
            var payload = System.Buffers.BuffersExtensions.ToArray(message.ApplicationMessage.Payload);
            if (message.ApplicationMessage.Topic.EndsWith("/status", StringComparison.Ordinal))
                onStatus(System.Text.Encoding.UTF8.GetString(payload));
            else
                onReadings?.Invoke(payload);
            return Task.CompletedTask;
        };
        var options = factory.CreateClientOptionsBuilder().WithTcpServer("127.0.0.1", _port).WithClientId(id).WithProtocolVersion(MqttProtocolVersion.V500).Build();
        await client.ConnectAsync(options, TestContext.Current.CancellationToken);
        await client.SubscribeAsync(
            factory.CreateSubscribeOptionsBuilder()
                .WithTopicFilter(Topics.ReadingsFilter, MqttQualityOfServiceLevel.AtLeastOnce)
                .WithTopicFilter(Topics.StatusFilter, MqttQualityOfServiceLevel.AtLeastOnce).Build(),
            TestContext.Current.CancellationToken);
        return client;
    }

    private async Task StartAsync()
    {
        var configuration = _folder["mosquitto.conf"];
        await File.WriteAllTextAsync(configuration, $"listener {_port} 127.0.0.1\nallow_anonymous true\nuser root\n");
        _broker = Process.Start(new ProcessStartInfo(Program, ["-c", configuration]) { RedirectStandardError = true, RedirectStandardOutput = true })!;
        await UntilAsync(() =>
        {
            try
            {
                using var probe = new TcpClient("127.0.0.1", _port);
                return true;
            }
            catch (SocketException)
            {
                return false;
            }
        });
    }

    private void Kill()
    {
        _broker?.Kill();
        _broker?.WaitForExit();
        _broker?.Dispose();
        _broker = null;
    }

    private static int Count<T>(List<T> list) => All(list).Count;

    private static List<T> All<T>(List<T> list)
    {
        lock (list)
            return [.. list];
    }

    private static Task UntilAsync(Func<bool> condition) => Patience.UntilAsync(condition, () => "in vain");
}
