using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Checks;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>Connections that do not last, and what two gateways under one name do to each other.</summary>
public sealed partial class SteadyLinkTests : IAsyncLifetime
{
    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon.AddDays(1));
    private TestBroker _broker = null!;

    public async ValueTask InitializeAsync() => _broker = await TestBroker.StartAsync();

    public async ValueTask DisposeAsync()
    {
        await _broker.DisposeAsync();
        _folder.Dispose();
    }

    [Fact]
    public async Task Two_gateways_under_one_name_try_ever_less_often_and_say_what_to_do()
    {
        await using var one = Gateway("one", ("Publishing:LongestPause", "00:01:00"));
        await using var other = Gateway("other", ("Publishing:LongestPause", "00:01:00"));
        await one.StartAsync();
        await other.StartAsync();

        await one.WarningAsync("two gateways must not run under one name: enrol each with a code of its own", times: 5);

        // The fifth pause of a doubling 20 ms is at least half of 320 ms; pauses that begin afresh stay within 20 ms.
        Assert.InRange(Pauses(one)[^1], 0.16, 60);
        await UntilStatusAsync(report => report.LinkFault?.Contains("two gateways must not run under one name", StringComparison.Ordinal) == true);
        var findings = await one.Services.GetServices<ICheck>().OfType<ServerCheck>().Single().RunAsync(TestContext.Current.CancellationToken);
        Assert.Contains(findings, finding => finding.Verdict == Verdict.Doubtful && finding.Detail.Contains("two gateways must not run under one name", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Only_a_connection_that_stood_for_minutes_makes_the_next_failure_a_first_one()
    {
        var network = new FakeTimeProvider(Some.Noon);
        await _broker.StopAsync();
        await using var gateway = new TestGateway(
            _folder["."], _broker.Port, _time, network, ("Publishing:FirstPause", "00:00:01"), ("Publishing:LongestPause", "00:01:00"));
        await gateway.StartAsync();
        for (var attempts = 1; attempts <= 5; attempts++)
        {
            await gateway.WarningAsync("no connection", attempts);
            network.Advance(TimeSpan.FromMinutes(1));
        }

        await ConnectedAsync(gateway, network);
        network.Advance(TimeSpan.FromMinutes(4));
        var before = Pauses(gateway).Count;
        await _broker.StopAsync();
        await gateway.WarningAsync("no connection", before + 1);
        Assert.InRange(Pauses(gateway)[before], 15, 60);

        await ConnectedAsync(gateway, network);
        network.Advance(TimeSpan.FromMinutes(6));
        before = Pauses(gateway).Count;
        await _broker.StopAsync();
        await gateway.WarningAsync("no connection", before + 1);
        Assert.InRange(Pauses(gateway)[before], 0.4, 1);
    }

    [Fact]
    public async Task What_ended_the_connection_is_over_once_it_stands()
    {
        var network = new FakeTimeProvider(Some.Noon);
        await using var gateway = new TestGateway(_folder["."], _broker.Port, _time, network);
        await gateway.StartAsync();
        await UntilStatusAsync(_ => true);
        await using (await MqttLink.ConnectAsync(
            new PublishingOptions { BrokerHost = "127.0.0.1", BrokerPort = _broker.Port, Tls = false },
            Core.Readings.GatewayId.Parse("quarry"), _ => { }, TestContext.Current.CancellationToken))
        {
            await gateway.WarningAsync("another connection signed in as quarry");
        }

        await Patience.UntilAsync(
            async () => (await StatusAsync())?.LinkFault is not null,
            () => "the status does not name the other connection", () => network.Advance(TimeSpan.FromSeconds(1)));

        await SentAsync(gateway, 0);
        network.Advance(TimeSpan.FromMinutes(6));
        gateway.Outbox.Append([Some.Reading(1)]);

        await UntilStatusAsync(report => report is { State: GatewayReport.Online, LinkFault: null });
        Assert.Empty(Directory.GetFiles(_folder["."], "link-fault*"));
    }

    [Fact]
    public async Task Status_goes_out_between_the_packs_of_a_backlog()
    {
        await using var gateway = Gateway("one");
        gateway.Outbox.Append([.. Enumerable.Range(0, 9000).Select(minute => Some.Reading(minute))]);
        var packs = 0;
        _broker.BeforeAnswer = arrival =>
        {
            // The second pack takes so long that the status is due.
            if (arrival.Topic.EndsWith("/readings", StringComparison.Ordinal) && ++packs == 2)
                _time.Advance(TimeSpan.FromMinutes(11));
            return Task.CompletedTask;
        };
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 9000);

        var topics = _broker.Arrivals.Select(arrival => arrival.Topic.Split('/')[^1]).ToList();
        var between = topics.IndexOf("status", 1);
        Assert.InRange(between, 1, topics.LastIndexOf("readings"));
        Assert.InRange(GatewayReport.TryRead(_broker.Arrivals[between].Payload)!.Waiting, 1, 8999);
    }

    [Fact]
    public async Task Status_is_sent_in_its_time_also_while_a_reading_comes_each_minute()
    {
        await using var gateway = Gateway("one");
        await gateway.StartAsync();
        await _broker.UntilAsync(broker => broker.Arrivals.Count >= 1);

        for (var minute = 1; minute <= 11; minute++)
        {
            _time.Advance(TimeSpan.FromMinutes(1));
            gateway.Outbox.Append([Some.Reading(minute)]);
            await _broker.UntilAsync(broker => broker.Readings.Any(reading => reading.MeasuredAt == Some.Noon.AddMinutes(minute)));
        }

        await _broker.UntilAsync(broker => broker.Arrivals.Count(arrival => arrival.Topic.EndsWith("/status", StringComparison.Ordinal)) >= 2);
    }

    private TestGateway Gateway(string folder, params (string, string)[] settings)
    {
        Directory.CreateDirectory(_folder[folder]);
        return new TestGateway(_folder[folder], _broker.Port, _time, settings);
    }

    private async Task ConnectedAsync(TestGateway gateway, FakeTimeProvider network)
    {
        var before = _broker.Arrivals.Count;
        await _broker.StartAgainAsync();
        await Patience.UntilAsync(
            () => _broker.Arrivals.Count > before,
            () => $"no status, but: {string.Join(" | ", gateway.Warnings)}", () => network.Advance(TimeSpan.FromSeconds(10)));

        await SentAsync(gateway, before);
    }

    /// <summary>Sends a reading, which the gateway does only once it counts itself as connected.</summary>
    private async Task SentAsync(TestGateway gateway, int minute)
    {
        gateway.Outbox.Append([Some.Reading(minute)]);
        await _broker.UntilAsync(broker => broker.Readings.Any(reading => reading.MeasuredAt == Some.Noon.AddMinutes(minute)));
    }

    private static List<double> Pauses(TestGateway gateway) =>
        [.. gateway.Warnings.SelectMany(warning => Pause().Matches(warning)).Select(match => double.Parse(match.Groups[1].Value, CultureInfo.InvariantCulture))];

    private async Task<GatewayReport?> StatusAsync() =>
        await _broker.RetainedAsync("pavement/v1/quarry/status") is { } text ? GatewayReport.TryRead(Encoding.UTF8.GetBytes(text)) : null;

    private async Task UntilStatusAsync(Func<GatewayReport, bool> wanted)
    {
        GatewayReport? report = null;
        await Patience.UntilAsync(
            async () => (report = await StatusAsync()) is not null && wanted(report), () => $"in vain; the status is {report}");
    }

    [GeneratedRegex(@"next attempt in ([0-9.]+) s")]
    private static partial Regex Pause();
}
