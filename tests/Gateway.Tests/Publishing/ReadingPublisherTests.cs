using Microsoft.Extensions.Time.Testing;
using MQTTnet.Protocol;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>The real gateway against a real broker on loopback.</summary>
public sealed class ReadingPublisherTests : IAsyncLifetime
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
    public async Task Readings_arrive_in_order_once_and_leave_the_outbox()
    {
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 500));
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 500);

        Assert.Equal(Minutes(0, 500).Select(taken => taken.Reading), _broker.Readings);
        var packs = _broker.Arrivals.Where(arrival => arrival.Topic == "pavement/v1/quarry/readings").ToList();
        Assert.All(packs, pack => Assert.Equal((MqttQualityOfServiceLevel.AtLeastOnce, false), (pack.Quality, pack.Retain)));
        Assert.All(packs, pack => Assert.InRange(pack.Payload.Length, 1, 256 * 1024));
        Assert.Equal(Enumerable.Range(1, packs.Count).Select(n => $"{n}"), packs.Select(pack => pack.Sequence));
        Assert.Single(packs.Select(pack => pack.Boot).Distinct());
        await UntilEmptyAsync(gateway);
    }

    [Fact]
    public async Task Sampled_minutes_go_the_whole_way()
    {
        await using var gateway = Gateway();
        await gateway.StartAsync();
        await _broker.UntilAsync(broker => broker.Arrivals.Count >= 1);

        await gateway.SampleAsync(_time, TimeSpan.FromMinutes(3.5));
        await _broker.UntilAsync(broker => broker.Readings.Count >= 3);

        var reading = _broker.Readings[^1];
        Assert.Equal("quarry-steps", reading.Spot.Value);
        // The simulated world is 50 °C at the surface and 30 °C in the air; the gateway does not know its sky.
        Assert.InRange(reading.SurfaceCelsius!.Value, 48, 52);
        Assert.InRange(reading.AirCelsius!.Value, 29.9, 30.1);
        Assert.Equal(0, reading.MeasuredAt.ToUnixTimeMilliseconds() % 1000);
    }

    [Fact]
    public async Task Backlog_beyond_one_pack_goes_in_packs_of_bounded_size()
    {
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 5000));
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 5000);

        Assert.Equal(Minutes(0, 5000).Select(taken => taken.Reading), _broker.Readings);
        Assert.All(_broker.Arrivals, arrival => Assert.InRange(arrival.Payload.Length, 1, ReadingPack.MaxBytes));
    }

    [Fact]
    public async Task Nothing_leaves_the_outbox_before_the_acknowledgement()
    {
        var gate = new TaskCompletionSource();
        var asked = new TaskCompletionSource();
        _broker.BeforeAnswer = arrival =>
        {
            if (!arrival.Topic.EndsWith("/readings", StringComparison.Ordinal))
                return Task.CompletedTask;
            asked.TrySetResult();
            return gate.Task;
        };
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 10));
        await gateway.StartAsync();

        await asked.Task.WaitAsync(Patience.Span, TestContext.Current.CancellationToken);
        Assert.Equal(10, gateway.Outbox.State().Waiting);

        gate.SetResult();
        await UntilEmptyAsync(gateway);
    }

    [Fact]
    public async Task Broker_that_restarts_in_the_middle_loses_nothing()
    {
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 3000));
        await gateway.StartAsync();
        await _broker.UntilAsync(broker => broker.Readings.Count >= 1);

        for (var round = 1; round <= 3; round++)
        {
            await _broker.StopAsync();
            gateway.Outbox.Append(Minutes(3000 * round, 3000));
            await _broker.StartAgainAsync();
            var expected = 3000 * (round + 1);
            await _broker.UntilAsync(broker => broker.Readings.Select(reading => reading.MeasuredAt).Distinct().Count() >= expected);
        }

        Assert.Equal(Minutes(0, 12_000).Select(taken => taken.Reading.MeasuredAt), _broker.Readings.Select(reading => reading.MeasuredAt).Distinct());
        await UntilEmptyAsync(gateway);
    }

    [Fact]
    public async Task Lost_acknowledgement_brings_the_same_readings_under_the_same_number()
    {
        var (cut, stopped) = (true, Task.CompletedTask);
        _broker.BeforeAnswer = async arrival =>
        {
            if (!cut || !arrival.Topic.EndsWith("/readings", StringComparison.Ordinal))
                return;
            cut = false;
            // The message is in, its acknowledgement never goes out.
            stopped = _broker.StopAsync();
            await Task.Delay(TimeSpan.FromMilliseconds(200), TimeProvider.System, TestContext.Current.CancellationToken);
        };
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 5));
        await gateway.StartAsync();
        await gateway.WarningAsync("no connection");
        // Else it could stop what is started again.
        await stopped;
        await _broker.StartAgainAsync();

        await UntilEmptyAsync(gateway);

        Assert.Equal(5, _broker.Readings.Select(reading => reading.MeasuredAt).Distinct().Count());
        Assert.Equal(["1"], _broker.Arrivals.Where(arrival => arrival.Sequence is not null).Select(arrival => arrival.Sequence).Distinct());
    }

    [Fact]
    public async Task Gateway_restarted_with_readings_waiting_sends_them()
    {
        await _broker.StopAsync();
        await using (var gateway = Gateway())
        {
            gateway.Outbox.Append(Minutes(0, 50));
            await gateway.StartAsync();
            await gateway.WarningAsync("nobody listens at 127.0.0.1");
        }
        await _broker.StartAgainAsync();
        await using var again = Gateway();
        await again.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 50);
    }

    [Fact]
    public async Task Pack_refused_for_good_is_taken_apart_and_only_the_reading_at_fault_is_set_aside()
    {
        var bad = Some.Noon.AddMinutes(13);
        _broker.Answer = arrival =>
            arrival.Topic.EndsWith("/readings", StringComparison.Ordinal)
            && Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(arrival.Payload, _time.GetUtcNow())).Readings.Any(reading => reading.MeasuredAt == bad)
                ? MqttPubAckReasonCode.PayloadFormatInvalid
                : MqttPubAckReasonCode.Success;
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 40));
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 39);

        await UntilEmptyAsync(gateway);
        Assert.DoesNotContain(bad, _broker.Readings.Select(reading => reading.MeasuredAt));
        Assert.Equal(39, _broker.Readings.Count);
        Assert.Equal(1, gateway.Outbox.State().Counts[OutboxCount.Refused]);
    }

    [Fact]
    public async Task Readings_dated_by_another_clock_than_the_servers_stay_and_hold_up_nobody()
    {
        var ahead = Some.Noon.AddMinutes(13);
        _broker.Answer = arrival =>
            arrival.Topic.EndsWith("/readings", StringComparison.Ordinal)
            && Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(arrival.Payload, _time.GetUtcNow())).Readings.Any(reading => reading.MeasuredAt == ahead)
                ? MqttPubAckReasonCode.ImplementationSpecificError
                : MqttPubAckReasonCode.Success;
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 40));
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Readings.Count >= 39);
        gateway.Outbox.Append(Minutes(40, 1));
        await _broker.UntilAsync(broker => broker.Readings.Count >= 40);
        await Patience.UntilAsync(() => gateway.Outbox.State().Waiting <= 1, () => $"{gateway.Outbox.State().Waiting} readings still wait");
        Assert.Equal((1, 0L), (gateway.Outbox.State().PutOff, gateway.Outbox.State().Counts[OutboxCount.Refused]));

        // The server's clock was set; minutes later what waits goes too.
        _broker.Answer = _ => MqttPubAckReasonCode.Success;
        _time.Advance(TimeSpan.FromMinutes(10));
        gateway.Outbox.Append(Minutes(41, 1));
        await UntilEmptyAsync(gateway);
        // The gateway samples too while its clock is moved, a day later.
        Assert.Equal(Minutes(0, 42).Select(taken => taken.Reading), _broker.Readings.Where(reading => reading.MeasuredAt < Some.Noon.AddHours(1)).OrderBy(reading => reading.MeasuredAt));
    }

    [Fact]
    public async Task Pack_the_server_cannot_take_now_is_offered_again()
    {
        var refusals = 3;
        _broker.Answer = arrival =>
            arrival.Topic.EndsWith("/readings", StringComparison.Ordinal) && refusals-- > 0
                ? MqttPubAckReasonCode.UnspecifiedError
                : MqttPubAckReasonCode.Success;
        await using var gateway = Gateway();
        gateway.Outbox.Append(Minutes(0, 10));
        await gateway.StartAsync();

        await UntilEmptyAsync(gateway);

        Assert.Equal(Minutes(0, 10).Select(taken => taken.Reading), _broker.Readings);
        Assert.Contains(gateway.Warnings, warning => warning.Contains("takes no readings now", StringComparison.Ordinal));
        Assert.Equal(0, gateway.Outbox.State().Counts[OutboxCount.Refused]);
    }

    [Fact]
    public async Task Status_is_retained_as_online_and_as_offline_after_a_stop()
    {
        var gateway = Gateway();
        await gateway.StartAsync();
        await _broker.UntilAsync(broker => broker.Arrivals.Count >= 1);

        var online = GatewayReport.TryRead(System.Text.Encoding.UTF8.GetBytes((await _broker.RetainedAsync("pavement/v1/quarry/status"))!))!;
        Assert.Equal((GatewayReport.Online, "network"), (online.State, online.Clock));
        await gateway.DisposeAsync();

        await _broker.UntilAsync(broker => broker.Arrivals.Count >= 2);
        Assert.Equal("{\"state\":\"offline\"}", System.Text.Encoding.UTF8.GetString(_broker.Arrivals[^1].Payload));
        Assert.True(_broker.Arrivals[^1].Retain);
    }

    [Fact]
    public async Task Greeting_keeps_the_session_and_signs_in()
    {
        _broker.Login = ("quarry", "a secret");
        await using var gateway = Gateway(("Publishing:Password", "a secret"), ("Publishing:SessionExpiry", "01:00:00"));
        await gateway.StartAsync();

        await _broker.UntilAsync(broker => broker.Arrivals.Count >= 1);

        Assert.Equal(("quarry", false, 3600u, null), _broker.Greetings.First());
    }

    [Fact]
    public async Task Wrong_password_says_what_to_do_and_keeps_trying()
    {
        _broker.Login = ("quarry", "the new secret");
        await using var gateway = Gateway(("Publishing:Password", "the old secret"));
        gateway.Outbox.Append(Minutes(0, 3));
        await gateway.StartAsync();

        await gateway.WarningAsync("does not know user 'quarry' with this password; enrol again");
        Assert.DoesNotContain(gateway.Warnings, warning => warning.Contains("secret", StringComparison.Ordinal));

        _broker.Login = ("quarry", "the old secret");
        await _broker.UntilAsync(broker => broker.Readings.Count >= 3);
    }

    [Fact]
    public async Task Name_that_is_not_found_says_so()
    {
        await using var gateway = Gateway(("Publishing:BrokerHost", "no-such-host.invalid"), ("Publishing:AllowUnencrypted", "true"));
        await gateway.StartAsync();

        await gateway.WarningAsync("the name no-such-host.invalid is not found");
    }

    private TestGateway Gateway(params (string, string)[] settings) => new(_folder["."], _broker.Port, _time, settings);

    private static List<TakenReading> Minutes(int from, int count) =>
        [.. Enumerable.Range(from, count).Select(minute => Some.Reading(minute))];

    private static Task UntilEmptyAsync(TestGateway gateway) =>
        Patience.UntilAsync(() => gateway.Outbox.State().Waiting == 0, () => $"{gateway.Outbox.State().Waiting} readings still wait");
}
