using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Enrolment;

/// <summary>From a real gateway to a real server: the sun has heated the housing of the air probe, and the ground is hot.</summary>
public sealed class HotHousingTests : IDisposable
{
    private readonly string _data = Directory.CreateTempSubdirectory("pw-housing-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(_data, recursive: true);

    [Fact]
    public async Task Ground_too_hot_is_warned_of_while_the_air_probe_says_what_air_never_is_and_the_business_reads_which()
    {
        await using var server = await RunningServer.StartAsync(folder: _data, settings: new Dictionary<string, string?>
        {
            ["Broker:Tls:Own"] = "true",
            ["Broker:Tls:HostNames"] = "localhost",
            ["Broker:Tls:Address"] = "127.0.0.1",
            ["Broker:Tls:Port"] = $"{EnrolledGateway.FreePort()}",
        });
        await using var gateway = new EnrolledGateway();
        var code = Assert.IsType<CodeOutcome.Made>(
            await server.Get<EnrolmentCodeStore>().NewCodeAsync(GatewayId.Parse("north-gate"), [RunningServer.NorthGate.Id], Cancel)).Code;
        var (exit, said) = await gateway.TypeAsync($"enrol {code} --server {server.Address}");
        Assert.True(exit == 0, said);

        await gateway.RunAsync(server.Time, 63, airCelsius: 61.2);
        await gateway.SampleAsync(server.Time, TimeSpan.FromMinutes(3));

        var seen = await server.SeenAsync(RunningServer.NorthGate, s => s is { State: AlertState.TooHot, Estimated: false });
        Assert.InRange(seen.SurfaceCelsius!.Value, 60, 66);
        Assert.True(gateway.LampIsOn(server.Time.GetUtcNow()));
        // Its status comes every ten minutes.
        await gateway.SampleAsync(server.Time, TimeSpan.FromMinutes(8));
        await Patience.UntilAsync(
            () => server.Get<IGatewayBoard>().All().Single().Faults.Any(fault => fault.StartsWith("air: probe air, SHT3x: air is 61.2", StringComparison.Ordinal)),
            () => $"the board says only {string.Join(", ", server.Get<IGatewayBoard>().All().Single().Faults)}");
    }
}
