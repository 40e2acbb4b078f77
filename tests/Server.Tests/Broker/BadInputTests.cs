using System.Net;
using System.Net.Sockets;
using System.Text;
using MQTTnet;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;
using static PavementWatch.Server.Tests.Broker.BrokerHost;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>Bad input over a real MQTT connection: a named outcome, counted, logged with field and remedy; connection and process live on.</summary>
public sealed class BadInputTests
{
    // 14 July 2026, 14:00 UTC, the tests' now, in Unix seconds: date -u -d '2026-07-14 14:00' +%s
    private const string Now = "1784037600";

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Theory]
    //          what                              payload                                                                                        answer                                             reason               field and remedy in the log
    [InlineData("cut short", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surf""", MqttClientPublishReasonCode.PayloadFormatInvalid, "not-json", "not JSON as RFC 8259 has it; look for a payload cut short")]
    [InlineData("no JSON", "surface=58", MqttClientPublishReasonCode.PayloadFormatInvalid, "not-json", "not JSON as RFC 8259 has it; look for a payload cut short")]
    [InlineData("no array", """{"n":"surface","v":58}""", MqttClientPublishReasonCode.PayloadFormatInvalid, "not-a-pack", "expected an array")]
    [InlineData("empty", "", MqttClientPublishReasonCode.PayloadFormatInvalid, "not-json", "not JSON as RFC 8259 has it; look for a payload cut short")]
    [InlineData("unknown spot", """[{"bn":"nowhere/","bt":1784037600,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.Success, "unknown-spot", "spot 'nowhere', which this gateway does not measure; create the spot")]
    [InlineData("another gateway's spot", """[{"bn":"quarry-steps/","bt":1784037600,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.Success, "unknown-spot", "which belongs to gateway 'quarry'; correct this gateway's settings")]
    [InlineData("NaN as JSON has none", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surface","u":"Cel","v":NaN}]""", MqttClientPublishReasonCode.PayloadFormatInvalid, "not-json", "not JSON as RFC 8259 has it; look for a payload cut short")]
    [InlineData("NaN as text", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surface","u":"Cel","v":"NaN"}]""", MqttClientPublishReasonCode.Success, "not-a-number", "v: found")]
    [InlineData("too large a number", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surface","u":"Cel","v":1e999}]""", MqttClientPublishReasonCode.Success, "not-a-number", "leave out a value that could not be measured")]
    [InlineData("900 °C", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surface","u":"Cel","v":900}]""", MqttClientPublishReasonCode.Success, "out-of-range", "surface is 900, expected -60 to 120 °C; look at the sensor and its wiring")]
    [InlineData("fahrenheit", """[{"bn":"north-gate-plaza/","bt":1784037600,"n":"surface","u":"F","v":110}]""", MqttClientPublishReasonCode.Success, "wrong-unit", "found 'F', expected 'Cel'")]
    [InlineData("1970", """[{"bn":"north-gate-plaza/","bt":86400,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.Success, "time-not-absolute", "set the sender's clock")]
    [InlineData("2001", """[{"bn":"north-gate-plaza/","bt":1000000000,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.ImplementationSpecificError, "other-clock", "set the clock that is wrong")]
    [InlineData("next year", """[{"bn":"north-gate-plaza/","bt":1815573600,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.ImplementationSpecificError, "other-clock", "set the clock that is wrong")]
    [InlineData("the year 10000", """[{"bn":"north-gate-plaza/","bt":253402300800,"n":"surface","u":"Cel","v":58}]""", MqttClientPublishReasonCode.Success, "no-such-time", "set the sender's clock")]
    public async Task A_bad_pack_has_a_named_outcome_and_the_connection_lives(
        string what, string payload, MqttClientPublishReasonCode answer, string reason, string fieldAndRemedy)
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);

        var bad = await SendAsync(client, NorthGate, Encoding.UTF8.GetBytes(payload));
        var good = await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]));

        Assert.True(bad.ReasonCode == answer, $"{what}: {bad.ReasonCode} {bad.ReasonString}");
        Assert.NotEmpty(bad.ReasonString);
        Assert.Equal(1, host.Count(reason));
        Assert.Contains($"north-gate: ", await host.LoggedAsync(fieldAndRemedy), StringComparison.Ordinal);
        Assert.Equal(MqttClientPublishReasonCode.Success, good.ReasonCode);
        Assert.Equal(40, Assert.Single(await host.Store.LatestAsync(Stop)).Reading.SurfaceCelsius);
    }

    [Fact]
    public async Task One_bad_record_among_good_ones_keeps_out_itself_only()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        var pack = $$"""
            [{"bn":"north-gate-plaza/","bt":{{Now}},"n":"surface","u":"Cel","v":58},{"n":"air","u":"Cel","v":35},
             {"n":"wheels","u":"count","v":4},{"n":"surface","u":"Cel","v":900,"t":-60},{"n":"surface","u":"Cel","v":57,"t":-120}]
            """;

        var answer = await SendAsync(client, NorthGate, Encoding.UTF8.GetBytes(pack));

        Assert.Equal(MqttClientPublishReasonCode.Success, answer.ReasonCode);
        Assert.StartsWith("stored 2, already there 0, refused 2; first: ", answer.ReasonString, StringComparison.Ordinal);
        var stored = await host.Store.RangeAsync(Plaza, host.Time.GetUtcNow().AddHours(-1), host.Time.GetUtcNow().AddHours(1), Stop);
        Assert.Equal([57, 58], stored.Select(one => one.Reading.SurfaceCelsius));
    }

    [Fact]
    public async Task Ten_megabytes_are_refused_by_name_and_the_connection_lives()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);

        var refused = await SendAsync(client, NorthGate, new byte[10 * 1024 * 1024]);
        var good = await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]));

        Assert.Equal(MqttClientPublishReasonCode.PayloadFormatInvalid, refused.ReasonCode);
        Assert.Contains("found 10485760 B, expected at most 262144 B; send a backlog as several packs", refused.ReasonString, StringComparison.Ordinal);
        Assert.Equal(1, host.Count("payload-too-large"));
        Assert.Equal(MqttClientPublishReasonCode.Success, good.ReasonCode);
    }

    [Fact]
    public async Task A_packet_announced_at_a_hundred_megabytes_ends_its_own_connection_only()
    {
        await using var host = await StartAsync();
        var loud = await host.ConnectAsync(NorthGate);
        var other = await host.ConnectAsync(Quarry);
        var gone = new TaskCompletionSource();
        loud.DisconnectedAsync += _ => { gone.TrySetResult(); return Task.CompletedTask; };

        await Assert.ThrowsAnyAsync<MqttCommunicationException>(() => SendAsync(loud, NorthGate, new byte[100 * 1024 * 1024]));
        await gone.Task.WaitAsync(Stop);

        Assert.Contains("expected at most 16777216 B", await host.LoggedAsync("packet-too-large"), StringComparison.Ordinal);
        Assert.Equal(1, host.Count("packet-too-large"));
        Assert.True((await SendAsync(other, Quarry, ReadingPack.Write([host.Now(Steps, 40)]))).IsSuccess);
    }

    [Theory]
    [InlineData("CONNECT announced at 256 MiB", new byte[] { 0x10, 0xFF, 0xFF, 0xFF, 0x7F })]
    [InlineData("a length of five bytes, which MQTT has not", new byte[] { 0x10, 0xFF, 0xFF, 0xFF, 0xFF, 0x7F })]
    public async Task A_stranger_gets_no_room_for_a_large_packet(string what, byte[] announcement)
    {
        await using var host = await StartAsync();
        using var stranger = new TcpClient();
        await stranger.ConnectAsync(IPAddress.Loopback, host.Broker.Port, Stop);

        await stranger.GetStream().WriteAsync(announcement, Stop);

        Assert.True(await IsEndedAsync(stranger), what);
        Assert.Equal(1, host.Count("packet-too-large"));
        await host.ConnectAsync(NorthGate);
    }

    [Theory]
    [InlineData("pavement/v1/quarry/readings")]
    [InlineData("pavement/v1/quarry/status")]
    [InlineData("pavement/v1/north-gate/settings")]
    [InlineData("pavement/v2/north-gate/readings")]
    [InlineData("somewhere/else")]
    public async Task A_gateway_publishes_below_its_own_name_only(string topic)
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);
        var message = new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(ReadingPack.Write([host.Now(Steps, 58)]))
            .WithQualityOfServiceLevel(MQTTnet.Protocol.MqttQualityOfServiceLevel.AtLeastOnce).WithRetainFlag().Build();

        var answer = await client.PublishAsync(message, Stop);

        Assert.Equal(MqttClientPublishReasonCode.NotAuthorized, answer.ReasonCode);
        Assert.Equal(1, host.Count("foreign-topic"));
        Assert.Contains("look at the gateway's name in its settings", await host.LoggedAsync("north-gate turned away, foreign-topic"), StringComparison.Ordinal);
        Assert.Empty(await host.Store.LatestAsync(Stop));
        Assert.Null(host.Get<GatewayStatusBoard>().Find(Quarry));
        Assert.True((await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
    }

    [Theory]
    [InlineData("pavement/v1/quarry/settings")]
    [InlineData("pavement/v1/north-gate/readings")]
    [InlineData("pavement/v1/+/settings")]
    [InlineData("#")]
    public async Task A_gateway_reads_its_own_settings_only(string filter)
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);

        var answer = await client.SubscribeAsync(new MqttClientSubscribeOptionsBuilder().WithTopicFilter(filter).Build(), Stop);

        Assert.Equal(MqttClientSubscribeResultCode.NotAuthorized, Assert.Single(answer.Items).ResultCode);
        Assert.Equal(1, host.Count("foreign-subscription"));
        Assert.True((await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]))).IsSuccess);
    }

    [Theory]
    [InlineData("wrong password", "north-gate", "guessed", "north-gate", MqttClientConnectResultCode.BadUserNameOrPassword, "wrong-password", "enrol the gateway again")]
    [InlineData("unknown user", "nobody", "pw-nobody", "nobody", MqttClientConnectResultCode.BadUserNameOrPassword, "wrong-password", "enrol the gateway again")]
    [InlineData("another's client identifier", "north-gate", "pw-north-gate", "quarry", MqttClientConnectResultCode.ClientIdentifierNotValid, "wrong-client-id", "use the gateway's name")]
    [InlineData("a client identifier that only begins like it", "north-gate", "pw-north-gate", "north-gate-2", MqttClientConnectResultCode.ClientIdentifierNotValid, "wrong-client-id", "use the gateway's name")]
    public async Task A_connection_that_is_nobodys_is_turned_away(
        string what, string user, string password, string clientId, MqttClientConnectResultCode code, string reason, string remedy)
    {
        await using var host = await StartAsync();
        var inside = await host.ConnectAsync(Quarry);

        var answer = await host.Client().ConnectAsync(
            OptionsFor(NorthGate, host.Broker.Port).WithClientId(clientId).WithCredentials(user, password).Build(), Stop);

        Assert.True(answer.ResultCode == code, $"{what}: {answer.ResultCode}");
        Assert.Equal(1, host.Count(reason));
        var line = await host.LoggedAsync(reason);
        Assert.Contains(remedy, line, StringComparison.Ordinal);
        Assert.DoesNotContain(password, line, StringComparison.Ordinal);
        Assert.True((await SendAsync(inside, Quarry, ReadingPack.Write([host.Now(Steps, 40)]))).IsSuccess);
    }

    [Fact]
    public async Task An_older_MQTT_is_turned_away_because_it_cannot_be_told_of_a_refusal()
    {
        await using var host = await StartAsync();

        var answer = await host.Client().ConnectAsync(
            OptionsFor(NorthGate, host.Broker.Port).WithProtocolVersion(MqttProtocolVersion.V311).Build(), Stop);

        Assert.NotEqual(MqttClientConnectResultCode.Success, answer.ResultCode);
        Assert.Equal(1, host.Count("wrong-protocol"));
    }

    [Fact]
    public async Task A_pack_number_that_is_none_is_counted_and_its_readings_are_kept()
    {
        await using var host = await StartAsync();
        var client = await host.ConnectAsync(NorthGate);

        await SendAsync(client, NorthGate, ReadingPack.Write([host.Now(Plaza, 40)]), boot: "a", sequence: -5);

        Assert.Equal(1, host.Count("bad-pack-number"));
        Assert.Contains("seq is not a whole number", await host.LoggedAsync("bad-pack-number"), StringComparison.Ordinal);
        Assert.Single(await host.Store.LatestAsync(Stop));
    }

    private static async Task<bool> IsEndedAsync(TcpClient client)
    {
        try
        {
            return await client.GetStream().ReadAsync(new byte[1], Stop) == 0;
        }
        catch (IOException)
        {
            return true;
        }
    }
}
