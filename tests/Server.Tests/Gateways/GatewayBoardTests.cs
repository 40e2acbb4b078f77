using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Gateways;

public sealed class GatewayBoardTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_a_gateway_says_ails_it_is_told_to_the_business()
    {
        await using var server = await RunningServer.StartAsync();
        var gate = GatewayId.Parse("north-gate");
        await server.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [RunningServer.NorthGate.Id], Cancel);
        var report = new GatewayReport
        {
            State = GatewayReport.Online,
            At = server.Time.GetUtcNow(),
            PutOff = 7,
            LinkFault = "another gateway signs in as north-gate",
            PanelFault = "pin 17 is held by another program",
            DiskFault = "the disk is full",
        };

        Assert.Null(server.Get<GatewayStatusBoard>().Report(gate, report.Write(), server.Time.GetUtcNow(), isOld: false));

        var faults = server.Get<IGatewayBoard>().All().Single().Faults;
        Assert.Contains("the disk is full", faults);
        Assert.Contains("another gateway signs in as north-gate", faults);
        Assert.Contains("pin 17 is held by another program", faults);
        Assert.Contains(faults, fault => fault.StartsWith("7 readings wait at the gateway, dated by another clock", StringComparison.Ordinal));
    }

    [Fact]
    public void A_connection_that_ends_after_its_gateway_was_removed_does_not_bring_it_back()
    {
        var statuses = new GatewayStatusBoard();
        var gate = GatewayId.Parse("north-gate");
        statuses.Seen(gate, RunningServer.Noon);
        statuses.Gone(gate);
        Assert.False(Assert.Single(statuses.All).Online);

        statuses.Forget(gate);
        statuses.Gone(gate);

        Assert.Empty(statuses.All);
    }

    [Fact]
    public async Task A_spot_for_which_its_gateway_has_no_probe_is_named_until_it_has_one_or_the_spot_is_anothers()
    {
        await using var server = await RunningServer.StartAsync();
        var gate = GatewayId.Parse("north-gate");
        await server.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Cancel);
        server.ExpectedError = "Health check faults";
        void Report(params string[] without) => Assert.Null(server.Get<GatewayStatusBoard>().Report(
            gate, new GatewayReport { State = GatewayReport.Online, SpotsWithoutProbe = without.Length > 0 ? without : null }.Write(), server.Time.GetUtcNow(), isOld: false));
        IReadOnlyList<string> Faults()
        {
            server.Get<SpotsWithoutProbe>().Look();
            return [.. server.Get<ServiceFaults>().Standing.Where(f => f.Key.StartsWith("probe.", StringComparison.Ordinal)).Select(f => f.Words)];
        }

        Report("quarry-steps", "long-gone");
        Assert.StartsWith("Quarry Steps: gateway north-gate is to measure it and has no probe for it", Assert.Single(Faults()), StringComparison.Ordinal);
        Assert.Equal(["no probe for Quarry Steps, which is estimated only"], server.Get<IGatewayBoard>().All().Single().Faults);
        using var business = await server.BrowserOfAsync(Role.Business);
        using var health = await business.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel);
        Assert.Contains("Quarry Steps: gateway north-gate", await health.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);

        // That it is off says nothing of its probes.
        Assert.Null(server.Get<GatewayStatusBoard>().Report(gate, GatewayReport.Offline, server.Time.GetUtcNow(), isOld: false));
        Assert.Single(Faults());
        Report();
        Assert.Empty(Faults());
        Report("quarry-steps");
        Assert.Single(Faults());
        await server.Get<GatewayStore>().SetSpotsAsync(gate, [RunningServer.NorthGate.Id], Cancel);
        Assert.Empty(Faults());
        Assert.Empty(server.Get<IGatewayBoard>().All().Single().Faults);
    }
}
