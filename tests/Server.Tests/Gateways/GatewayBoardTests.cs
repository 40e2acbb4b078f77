using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Gateways;
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
}
