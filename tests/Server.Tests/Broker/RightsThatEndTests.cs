using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Database;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>The whole server with its own broker and a real client: what is taken from a gateway ends at once, not when it next connects.</summary>
public sealed class RightsThatEndTests
{
    private static readonly GatewayId Gateway = GatewayId.Parse("north-gate");
    private static readonly GatewayId South = GatewayId.Parse("south-gate");

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_new_secret_cuts_the_connection_of_the_old_one_and_its_readings_are_refused()
    {
        await using var server = await RunningServer.StartAsync();
        using var old = await SignedInAsync(server, "first secret");
        var cut = CutOf(old);

        var code = Assert.IsType<CodeOutcome.Made>(await server.Get<EnrolmentCodeStore>().NewCodeAsync(Gateway, null, Stop)).Code;
        Assert.True(old.IsConnected); // A code that nobody used changes nothing.
        var enrolled = Assert.IsType<RedeemOutcome.Enrolled>(await server.Get<EnrolmentCodeStore>().RedeemAsync(code, Stop));

        Assert.Equal(MqttClientDisconnectReason.NotAuthorized, await cut.WaitAsync(Patience.Span, Stop));
        using var again = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, (await again.ConnectAsync(Options(server, "first secret"), Stop)).ResultCode);
        using var fresh = await SignedInAsync(server, enrolled.Password, isKnown: true);
        Assert.True((await BrokerHost.SendAsync(fresh, Gateway, Pack(RunningServer.NorthGate.Id))).IsSuccess);
    }

    [Fact]
    public async Task A_spot_stays_with_its_gateway_until_the_code_that_moves_it_is_used()
    {
        await using var server = await RunningServer.StartAsync();
        using var first = await SignedInAsync(server, "first secret");
        var (codes, gateways) = (server.Get<EnrolmentCodeStore>(), server.Get<GatewayCatalogue>());

        var made = Assert.IsType<CodeOutcome.Made>(await codes.NewCodeAsync(South, [RunningServer.QuarrySteps.Id], Stop));
        await server.Get<GatewayRights>().EnforceAsync(Stop);
        Assert.Equal(
            "Quarry Steps is on north-gate until this code is used; then it belongs to south-gate, and north-gate no longer reads it",
            Assert.Single(made.Moved).Coming);
        Assert.True(gateways.MayReport(Gateway, RunningServer.QuarrySteps.Id));
        Assert.True(await BrokerHost.SendAsync(first, Gateway, Pack(RunningServer.QuarrySteps.Id)) is { IsSuccess: true, ReasonString: null });

        // Nobody came: nothing happened.
        server.PeopleTime.Advance(EnrolmentOptions.CodeLife + TimeSpan.FromMinutes(1));
        Assert.IsType<RedeemOutcome.Expired>(await codes.RedeemAsync(made.Code, Stop));
        Assert.True(first.IsConnected && gateways.MayReport(Gateway, RunningServer.QuarrySteps.Id));

        var cut = CutOf(first);
        made = Assert.IsType<CodeOutcome.Made>(await codes.NewCodeAsync(South, [RunningServer.QuarrySteps.Id], Stop));
        var enrolled = Assert.IsType<RedeemOutcome.Enrolled>(await codes.RedeemAsync(made.Code, Stop));
        Assert.Equal([RunningServer.QuarrySteps], enrolled.Spots);
        await cut.WaitAsync(Patience.Span, Stop);
        Assert.False(gateways.MayReport(Gateway, RunningServer.QuarrySteps.Id));
        Assert.Equal(
            ["north-gate no longer reads Quarry Steps, which is on south-gate since 2026-07-14 12:00 Chicago time"],
            server.Get<IGatewayBoard>().All().Single(g => g.Id == "north-gate").NoLongerReads);
    }

    [Fact]
    public async Task A_spot_given_to_another_gateway_cuts_the_first_one_and_its_readings_of_that_spot_are_refused_after()
    {
        await using var server = await RunningServer.StartAsync();
        using var client = await SignedInAsync(server, "first secret");
        var cut = CutOf(client);
        Assert.True((await BrokerHost.SendAsync(client, Gateway, Pack(RunningServer.QuarrySteps.Id))).IsSuccess);

        await server.Get<GatewayStore>().SetSpotsAsync(Gateway, [RunningServer.NorthGate.Id], Stop);
        await server.Get<GatewayRights>().EnforceAsync(Stop);

        await cut.WaitAsync(Patience.Span, Stop);
        using var again = await SignedInAsync(server, "first secret", isKnown: true);
        await SettingsNameAsync(again, "north-gate-plaza");
        server.Time.Advance(TimeSpan.FromMinutes(1));
        var refused = await BrokerHost.SendAsync(again, Gateway, Pack(RunningServer.QuarrySteps.Id, server.Time.GetUtcNow()));
        Assert.Contains("which was taken from this gateway at 2026-07-14 17:00 UTC; take its probe out of this gateway's settings, or give the spot back", refused.ReasonString, StringComparison.Ordinal);
        var stored = await server.Get<IReadingStore>().LatestAsync(Stop);
        Assert.Equal(RunningServer.Noon, Assert.Single(stored, s => s.Reading.Spot == RunningServer.QuarrySteps.Id).Reading.MeasuredAt);
    }

    [Fact]
    public async Task A_spot_given_to_a_second_gateway_is_taken_from_the_first_which_still_brings_what_it_measured_before()
    {
        await using var server = await RunningServer.StartAsync();
        using var first = await SignedInAsync(server, "first secret");
        var cut = CutOf(first);

        var moved = await server.Get<GatewayStore>().SetGatewayAsync(South, "south secret", [RunningServer.QuarrySteps.Id], Stop);
        await server.Get<GatewayRights>().EnforceAsync(Stop);

        Assert.Equal(("Quarry Steps", Gateway, South), Assert.Single(moved) is var (name, from, to) ? (name, from, to) : default);
        await cut.WaitAsync(Patience.Span, Stop);
        using var again = await SignedInAsync(server, "first secret", isKnown: true);
        await SettingsNameAsync(again, "north-gate-plaza");

        // What lay in its outbox: one from before the move, one from after it.
        server.Time.Advance(TimeSpan.FromMinutes(1));
        var left = await BrokerHost.SendAsync(again, Gateway, ReadingPack.Write(
        [
            new Reading(RunningServer.QuarrySteps.Id, RunningServer.Noon.AddSeconds(-30)) { SurfaceCelsius = 20, AirCelsius = 30 },
            new Reading(RunningServer.QuarrySteps.Id, server.Time.GetUtcNow()) { SurfaceCelsius = 21, AirCelsius = 30 },
        ]));
        Assert.Contains("stored 1, already there 0, refused 1", left.ReasonString, StringComparison.Ordinal);
        Assert.Contains("which belongs to gateway 'south-gate' since 2026-07-14 17:00 UTC", left.ReasonString, StringComparison.Ordinal);
        Assert.Equal([20.0], await StoredAsync());

        // It is the second's word alone that counts now.
        using var second = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.Success, (await second.ConnectAsync(Options(server, "south secret", South), Stop)).ResultCode);
        Assert.True((await BrokerHost.SendAsync(second, South, ReadingPack.Write(
            [new Reading(RunningServer.QuarrySteps.Id, server.Time.GetUtcNow().AddSeconds(-50)) { SurfaceCelsius = 61, AirCelsius = 30 }]))).IsSuccess);
        await server.SeenAsync(RunningServer.QuarrySteps, s => s.SurfaceCelsius == 61);
        Assert.Equal([20.0, 61.0], await StoredAsync());

        // Whoever loses the last spot is told so too.
        await server.Get<GatewayStore>().SetSpotsAsync(South, [RunningServer.QuarrySteps.Id, RunningServer.NorthGate.Id], Stop);
        await server.Get<GatewayRights>().EnforceAsync(Stop);
        using var bare = await SignedInAsync(server, "first secret", isKnown: true);
        await SettingsNameAsync(bare);

        async Task<IEnumerable<double>> StoredAsync() =>
            (await server.Get<IReadingStore>().RangeAsync(RunningServer.QuarrySteps.Id, RunningServer.Noon.AddHours(-1), RunningServer.Noon.AddHours(1), Stop))
            .Select(stored => stored.Reading.SurfaceCelsius!.Value);
    }

    [Fact]
    public async Task What_a_gateway_measured_at_a_spot_before_it_was_given_away_is_history_to_the_watch()
    {
        await using var server = await RunningServer.StartAsync();
        using var first = await SignedInAsync(server, "first secret");
        var cut = CutOf(first);
        await server.Get<GatewayStore>().SetGatewayAsync(South, "south secret", [RunningServer.QuarrySteps.Id], Stop);
        await server.Get<GatewayRights>().EnforceAsync(Stop);
        await cut.WaitAsync(Patience.Span, Stop);
        using var again = await SignedInAsync(server, "first secret", isKnown: true);
        var told = server.Get<ReadingFeed>().ReadAllAsync(Stop).GetAsyncEnumerator(Stop);
        await using (told)
        {
            Assert.True((await BrokerHost.SendAsync(again, Gateway, Pack(RunningServer.QuarrySteps.Id, RunningServer.Noon.AddSeconds(-1)))).IsSuccess);

            Assert.True(await told.MoveNextAsync().AsTask().WaitAsync(Patience.Span, Stop));
            Assert.Null(told.Current.CountsAt);
        }
    }

    [Fact]
    public async Task A_change_by_another_process_is_seen_within_seconds()
    {
        await using var server = await RunningServer.StartAsync();
        using var client = await SignedInAsync(server, "first secret");
        var cut = CutOf(client);

        // As the command line does: the registry alone is changed.
        var registry = server.Get<Microsoft.EntityFrameworkCore.IDbContextFactory<RegistryDb>>();
        using var spots = new SpotCatalogue(registry);
        using var others = new GatewayCatalogue(registry, spots);
        var gateways = new GatewayStore(registry, spots, others, server.Time);
        await gateways.SetGatewayAsync(Gateway, "second secret", [RunningServer.NorthGate.Id], Stop);

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

        Assert.True(await server.Get<GatewayStore>().RemoveGatewayAsync(Gateway, Stop));
        await server.Get<GatewayRights>().EnforceAsync(Stop);

        await cut.WaitAsync(Patience.Span, Stop);
        await Patience.UntilAsync(
            () => !File.ReadAllText(retained).Contains("north-gate/", StringComparison.Ordinal), () => $"still retained: {File.ReadAllText(retained)}");
        Assert.Null(server.Get<GatewayStatusBoard>().Find(Gateway));
        using var again = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.BadUserNameOrPassword, (await again.ConnectAsync(Options(server, "first secret"), Stop)).ResultCode);

        // The name may be used again, with a new secret; the old one stays dead.
        using var other = await SignedInAsync(server, "third secret");
        await SettingsNameAsync(other, "north-gate-plaza", "quarry-steps");
    }

    private static async Task<IMqttClient> SignedInAsync(RunningServer server, string secret, bool isKnown = false)
    {
        if (!isKnown)
        {
            await server.Get<GatewayStore>().SetGatewayAsync(Gateway, secret, [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Stop);
            await server.Get<GatewayRights>().EnforceAsync(Stop);
        }

        var client = new MqttClientFactory().CreateMqttClient();
        Assert.Equal(MqttClientConnectResultCode.Success, (await client.ConnectAsync(Options(server, secret), Stop)).ResultCode);
        return client;
    }

    private static MqttClientOptions Options(RunningServer server, string secret, GatewayId? gateway = null) =>
        BrokerHost.OptionsFor(gateway ?? Gateway, server.Get<IBroker>().Port).WithCredentials((gateway ?? Gateway).Value, secret).Build();

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

    /// <summary>Waits until its settings name these spots: those from before may still be kept for it when it comes back.</summary>
    private static async Task SettingsNameAsync(IMqttClient client, params string[] spots)
    {
        var come = System.Threading.Channels.Channel.CreateUnbounded<GatewaySettings>();
        client.ApplicationMessageReceivedAsync += received =>
        {
            come.Writer.TryWrite(GatewaySettings.Read(System.Buffers.BuffersExtensions.ToArray(received.ApplicationMessage.Payload)));
            return Task.CompletedTask;
        };
        await client.SubscribeAsync(Topics.Settings(Gateway), MqttQualityOfServiceLevel.AtLeastOnce, Stop);
        while (!(await come.NextAsync()).Spots.Keys.Order().SequenceEqual(spots))
        {
        }
    }

    private static byte[] Pack(SpotId spot, DateTimeOffset? at = null) =>
        ReadingPack.Write([new Reading(spot, at ?? RunningServer.Noon) { SurfaceCelsius = 40, AirCelsius = 30 }]);
}
