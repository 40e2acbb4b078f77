using Microsoft.Extensions.Logging.Abstractions;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Gateways;

/// <summary>What is left for a gateway at the broker: its settings, and the server's word for its silent spots.</summary>
public sealed class SettingsPublisherTests
{
    private static readonly GatewayId Gateway = GatewayId.Parse("north-gate");

    [Fact]
    public async Task Estimate_of_a_silent_spot_goes_with_the_settings_until_it_is_measured_again()
    {
        await using var server = await RunningServer.StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gateway, "secret", [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], TestContext.Current.CancellationToken);
        var (broker, board) = (new TestBroker(), new Board());
        using var courier = new SettingsPublisher(server.Get<GatewayCatalogue>(), board, broker, server.Time, NullLogger<SettingsPublisher>.Instance);
        board.Plaza = new SpotNow(RunningServer.NorthGate.Id, "", "", RunningServer.NorthGate.Surface, 37, -97, 49, 800) { SurfaceCelsius = 52, Now = RunningServer.Noon };

        var measured = await broker.AfterAsync(courier);
        Assert.Null(Assert.Single(measured).Estimates);

        board.Plaza = board.Plaza with { Estimated = true, Word = GroundWord.TooHot, SurfaceCelsius = 51.26, UpperCelsius = 54.94, Now = RunningServer.Noon.AddMinutes(4) };
        var silent = await broker.AfterAsync(courier);
        var (spot, estimate) = Assert.Single(Assert.Single(silent).Estimates!);
        Assert.Equal("north-gate-plaza", spot);
        Assert.Equal(new SpotEstimate(51.3, 54.9, RunningServer.Noon.AddMinutes(4)), estimate);
        Assert.Equal(measured[0].Version, silent[0].Version);

        Assert.Empty(await broker.AfterAsync(courier)); // Nothing new to say.

        board.Plaza = board.Plaza with { Word = GroundWord.Unknown }; // Never measured: an estimate is no word for the lamp.
        Assert.Null(Assert.Single(await broker.AfterAsync(courier)).Estimates);

        board.Plaza = board.Plaza with { Word = GroundWord.TooHot };
        Assert.NotNull(Assert.Single(await broker.AfterAsync(courier)).Estimates);
        board.Plaza = board.Plaza with { Estimated = false };
        Assert.Null(Assert.Single(await broker.AfterAsync(courier)).Estimates);
    }

    private sealed class Board : ISpotBoard
    {
        public SpotNow? Plaza { get; set; }

        public IReadOnlyList<SpotNow> All() => throw new NotSupportedException();

        public SpotNow? Find(SpotId id) => id == Plaza?.Id ? Plaza : null;

        public IAsyncEnumerable<SpotNow> ChangesAsync(CancellationToken cancellationToken) => throw new NotSupportedException();
    }

    private sealed class TestBroker : IBroker
    {
        private readonly List<GatewaySettings> _left = [];

        public bool IsUp => true;

        public int Port => 0;

        public Task PublishSettingsAsync(GatewayId gateway, ReadOnlyMemory<byte> settings, CancellationToken cancellationToken)
        {
            Assert.Equal(Gateway, gateway);
            _left.Add(GatewaySettings.Read(settings.Span));
            return Task.CompletedTask;
        }

        public Task DisconnectAsync(GatewayId gateway, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Task ForgetAsync(GatewayId gateway, CancellationToken cancellationToken) => throw new NotSupportedException();

        public async Task<IReadOnlyList<GatewaySettings>> AfterAsync(SettingsPublisher courier)
        {
            _left.Clear();
            await courier.SendAsync(TestContext.Current.CancellationToken);
            return [.. _left];
        }
    }
}
