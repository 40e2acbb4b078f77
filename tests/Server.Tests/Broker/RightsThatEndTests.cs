using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Enrolment;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>The whole server with its own broker and a real client: what is taken from a gateway ends at once, not when it next connects.</summary>
public sealed class RightsThatEndTests
{
    private static readonly GatewayId Gateway = GatewayId.Parse("north-gate");

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_new_secret_cuts_the_connection_of_the_old_one_and_its_readings_are_refused()
    {
        await using var server = await RunningServer.StartAsync();
        using var old = await SignedInAsync(server, "first secret");
        var cut = CutOf(old);

        var code = Assert.IsType<CodeOutcome.Made>(await server.Get<EnrolmentDesk>().NewCodeAsync(Gateway, null, Stop)).Code;
        Assert.True(old.IsConnected); // A code that nobody used changes nothing.
        var enrolled = Assert.IsType<RedeemOutcome.Enrolled>(await server.Get<EnrolmentDesk>().RedeemAsync(code, Stop));

        Assert.Equal(MqttClientDisconnectReason.NotAuthorized, await cut.WaitAsync(Patience.Span, Stop));
        using var again = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, (await again.ConnectAsync(Options(server, "first secret"), Stop)).ResultCode);
        using var fresh = await SignedInAsync(server, enrolled.Password, isKnown: true);
        Assert.True((await BrokerHost.SendAsync(fresh, Gateway, Pack(RunningServer.NorthGate.Id))).IsSuccess);
    }

    [Fact]
    public async Task A_spot_given_to_another_gateway_cuts_the_first_one_and_its_readings_of_that_spot_are_refused_after()
    {
        await using var server = await RunningServer.StartAsync();
        using var client = await SignedInAsync(server, "first secret");
        var cut = CutOf(client);
        Assert.True((await BrokerHost.SendAsync(client, Gateway, Pack(RunningServer.QuarrySteps.Id))).IsSuccess);

        await server.Get<SpotBook>().SetSpotsAsync(Gateway, [RunningServer.NorthGate.Id], Stop);
        await server.Get<GatewayRights>().EnforceAsync(Stop);

        await cut.WaitAsync(Patience.Span, Stop);
        using var again = await SignedInAsync(server, "first secret", isKnown: true);
        var settings = await SettingsAsync(again);
        Assert.Equal(["north-gate-plaza"], settings.Spots.Keys);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        var refused = await BrokerHost.SendAsync(again, Gateway, Pack(RunningServer.QuarrySteps.Id, server.Time.GetUtcNow()));
        Assert.Contains("which this gateway does not measure", refused.ReasonString, StringComparison.Ordinal);
        var stored = await server.Get<IReadingStore>().LatestAsync(Stop);
        Assert.Equal(RunningServer.Noon, Assert.Single(stored, s => s.Reading.Spot == RunningServer.QuarrySteps.Id).Reading.MeasuredAt);
    }

    [Fact]
    public async Task A_change_by_another_process_is_seen_within_seconds()
    {
        await using var server = await RunningServer.StartAsync();
        using var client = await SignedInAsync(server, "first secret");
        var cut = CutOf(client);

        // As the command line does: the registry alone is changed.
        var book = new SpotBook(
            server.Get<Microsoft.EntityFrameworkCore.IDbContextFactory<RegistryDb>>(),
            new SpotCatalogue(server.Get<Microsoft.EntityFrameworkCore.IDbContextFactory<RegistryDb>>()), server.Time);
        await book.SetGatewayAsync(Gateway, "second secret", [RunningServer.NorthGate.Id], Stop);

        await cut.WaitAsync(Patience.Span, Stop);
    }

    [Fact]
    public async Task A_removed_gateway_loses_its_connection_its_session_and_what_was_kept_for_it()
    {
        await using var server = await RunningServer.StartAsync();
        using var client = await SignedInAsync(server, "first secret");
        var cut = CutOf(client);
        await client.PublishAsync(
            new MqttApplicationMessageBuilder().WithTopic(Topics.Status(Gateway)).WithPayload("""{"state":"online"}""").WithRetainFlag()
                .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build(),
            Stop);
        var retained = Path.Combine(server.Folder, "retained.json");
        await Patience.UntilAsync(() => File.Exists(retained) && File.ReadAllText(retained).Contains("north-gate/status", StringComparison.Ordinal), () => "no status was retained");

        Assert.True(await server.Get<SpotBook>().RemoveGatewayAsync(Gateway, Stop));
        await server.Get<GatewayRights>().EnforceAsync(Stop);

        await cut.WaitAsync(Patience.Span, Stop);
        await Patience.UntilAsync(
            () => !File.ReadAllText(retained).Contains("north-gate/", StringComparison.Ordinal), () => $"still retained: {File.ReadAllText(retained)}");
        Assert.Null(server.Get<GatewayStatusBoard>().Find(Gateway));
        using var again = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, (await again.ConnectAsync(Options(server, "first secret"), Stop)).ResultCode);

        // The name may be used again, with a new secret; the old one stays dead.
        using var other = await SignedInAsync(server, "third secret");
        Assert.Equal(["north-gate-plaza", "quarry-steps"], (await SettingsAsync(other)).Spots.Keys.Order());
    }

    private static async Task<IMqttClient> SignedInAsync(RunningServer server, string secret, bool isKnown = false)
    {
        if (!isKnown)
        {
            await server.Get<SpotBook>().SetGatewayAsync(Gateway, secret, [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Stop);
            await server.Get<GatewayRights>().EnforceAsync(Stop);
        }

        var client = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.Success, (await client.ConnectAsync(Options(server, secret), Stop)).ResultCode);
        return client;
    }

    private static MqttClientOptions Options(RunningServer server, string secret) =>
        BrokerHost.OptionsFor(Gateway, server.Get<IBroker>().Port).WithCredentials(Gateway.Value, secret).Build();

    private static async Task<MqttClientDisconnectReason> CutOf(IMqttClient client)
    {
        var cut = new TaskCompletionSource<MqttClientDisconnectReason>(TaskCreationOptions.RunContinuationsAsynchronously);
        client.DisconnectedAsync += ended =>
        {
            cut.TrySetResult(ended.Reason);
            return Task.CompletedTask;
        };
        return await cut.Task;
    }

    private static async Task<GatewaySettings> SettingsAsync(IMqttClient client)
    {
        var come = new TaskCompletionSource<GatewaySettings>(TaskCreationOptions.RunContinuationsAsynchronously);
        client.ApplicationMessageReceivedAsync += received =>
        {
            come.TrySetResult(GatewaySettings.Read(System.Buffers.BuffersExtensions.ToArray(received.ApplicationMessage.Payload)));
            return Task.CompletedTask;
        };
        await client.SubscribeAsync(Topics.Settings(Gateway), MqttQualityOfServiceLevel.AtLeastOnce, Stop);
        return await come.Task.WaitAsync(Patience.Span, Stop);
    }

    private static byte[] Pack(SpotId spot, DateTimeOffset? at = null) =>
        ReadingPack.Write([new Reading(spot, at ?? RunningServer.Noon) { SurfaceCelsius = 40, AirCelsius = 30 }]);
}
