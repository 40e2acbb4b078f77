using System.Net;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Tests.Api;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Gateways;

/// <summary>What goes wrong where nobody stands beside becomes a fault, and is none any more when it is mended.</summary>
public sealed class GatewayFaultsTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_gateway_that_never_was_there_is_no_fault_and_one_that_was_before_the_start_is()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        Assert.Empty(await StandingAsync(server, TimeSpan.FromHours(2)));

        // As a broker keeps it.
        Report(server, GatewayReport.Offline, isOld: true);

        Assert.Equal(["gateway.north-gate"], await StandingAsync(server));
        Assert.Contains("nothing has come from it since this server started; North Gate plaza is estimated only until it is back", Words(server), StringComparison.Ordinal);
        await server.Get<GatewayStore>().RemoveGatewayAsync(Gate, Cancel);
        Assert.Empty(await StandingAsync(server));
    }

    [Fact]
    public async Task A_start_gives_gateways_time_to_find_the_server_again()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        Report(server, GatewayReport.Offline, isOld: true);

        Assert.Empty(await StandingAsync(server, TimeSpan.FromMinutes(4)));
        Assert.Equal(["gateway.north-gate"], await StandingAsync(server, TimeSpan.FromMinutes(1)));
    }

    [Fact]
    public async Task What_a_gateway_reports_is_a_fault_of_its_own_until_it_says_otherwise_and_the_server_stays_ready()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        var report = new GatewayReport
        {
            State = GatewayReport.Online,
            DiskFault = "the disk is full",
            LinkFault = "another gateway signs in as north-gate",
            PutOff = 7,
            ProbeFaults = new Dictionary<string, string> { ["probe 2"] = "no answer at 0x5A" },
        };
        Report(server, report.Write());
        Assert.Equal(["gateway.north-gate.dates", "gateway.north-gate.disk", "gateway.north-gate.link"], await StandingAsync(server));

        // A probe may fail once; this one goes on failing.
        Assert.Contains("gateway.north-gate.probes", await StandingAsync(server, TimeSpan.FromMinutes(15)));
        Assert.Contains(server.Get<ServiceFaults>().Standing, fault => fault.Words == "gateway north-gate: probe 2: no answer at 0x5A");
        using var business = await server.BrowserOfAsync(Role.Business);
        using var health = await business.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, health.StatusCode);

        // The clock is named already.
        server.Get<ServiceFaults>().Raise("clock.north-gate", "an hour slow");
        Assert.DoesNotContain("gateway.north-gate.dates", await StandingAsync(server));
        Report(server, GatewayReport.Offline);
        Assert.Equal(3, (await StandingAsync(server)).Count);
        Report(server, new GatewayReport { State = GatewayReport.Online }.Write());
        Assert.Empty(await StandingAsync(server));
        server.Get<ServiceFaults>().End("clock.north-gate");
    }

    [Fact]
    public async Task Rain_is_no_fault_of_a_probe_and_silence_after_it_is()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        Report(server, new GatewayReport { State = GatewayReport.Online }.Write());
        await server.MeasureAsync(Good(NorthGate, Noon, 45));
        await server.SeenAsync(NorthGate, spot => spot.MeasuredAt == Noon);
        for (var i = 0; i < 9; i++)
        {
            Assert.Empty(await StandingAsync(server, TimeSpan.FromMinutes(10)));
            var now = server.Time.GetUtcNow();
            await server.MeasureAsync(Good(NorthGate, now, 20) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Wet });
            await server.SeenAsync(NorthGate, spot => spot.Doubt == Doubt.Wet);
        }

        Assert.Empty(await StandingAsync(server, TimeSpan.FromMinutes(50)));
        Assert.Equal(["spot.north-gate-plaza"], await StandingAsync(server, TimeSpan.FromMinutes(10)));
        Assert.EndsWith("'check' on the gateway says what is wrong", Words(server), StringComparison.Ordinal);
    }

    private static void Report(RunningServer server, byte[] report, bool isOld = false) =>
        Assert.Null(server.Get<GatewayStatusBoard>().Report(Gate, report, server.Time.GetUtcNow(), isOld));

    private static string Words(RunningServer server) => Assert.Single(server.Get<ServiceFaults>().Standing).Words;

    /// <summary>The gateways' and spots' faults by name, after a while in which somebody looked each minute.</summary>
    private static async Task<List<string>> StandingAsync(RunningServer server, TimeSpan later = default)
    {
        for (var minute = TimeSpan.Zero; minute < later; minute += TimeSpan.FromMinutes(1))
        {
            server.Time.Advance(TimeSpan.FromMinutes(1));
            await server.Get<GatewayFaults>().LookAsync(Cancel);
        }

        await server.Get<GatewayFaults>().LookAsync(Cancel);
        return [.. server.Get<ServiceFaults>().Standing.Select(fault => fault.Key).Where(key => key.StartsWith("gateway.", StringComparison.Ordinal) || key.StartsWith("spot.", StringComparison.Ordinal)).Order(StringComparer.Ordinal)];
    }
}
