using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Gateways;

public sealed class ProbeBandsTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_a_probe_sees_goes_into_how_hot_the_ground_may_be_and_only_its_gateway_says_it()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        var statuses = server.Get<GatewayStatusBoard>();
        await MeasureAsync(1);
        var wide = (await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon.AddMinutes(1))).HottestCelsius!.Value;
        Assert.Equal(Upper(InfraredBand.Wide), wide, 6);

        Assert.Null(statuses.Report(Gate, Said("8-14"), server.Time.GetUtcNow(), isOld: false));
        server.Get<ProbeBands>().Look();
        await MeasureAsync(2);
        var window = (await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon.AddMinutes(2))).HottestCelsius!.Value;
        Assert.Equal(Upper(InfraredBand.Window), window, 6);
        Assert.True(window > wide + 0.3, $"{wide:F2} and {window:F2} °C");
        Assert.Equal(InfraredBand.Wide, server.Get<SpotCatalogue>().Find(QuarrySteps.Id)!.ProbeBand);

        // Off, it sees what it saw, also when the list is read anew; a band that nobody knows is taken as most are.
        Assert.Null(statuses.Report(Gate, GatewayReport.Offline, server.Time.GetUtcNow(), isOld: false));
        server.Get<ProbeBands>().Look();
        await server.Get<SpotCatalogue>().RefreshAsync(Cancel);
        Assert.Equal(InfraredBand.Window, server.Get<SpotCatalogue>().Find(NorthGate.Id)!.ProbeBand);
        Assert.Null(statuses.Report(Gate, Said("3-5"), server.Time.GetUtcNow(), isOld: false));
        server.Get<ProbeBands>().Look();
        Assert.Equal(InfraredBand.Wide, server.Get<SpotCatalogue>().Find(NorthGate.Id)!.ProbeBand);

        async Task MeasureAsync(int minute)
        {
            await server.MinuteAsync(NorthGate);
            await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(minute), 55));
        }
    }

    private static byte[] Said(string band) => new GatewayReport
    {
        State = GatewayReport.Online,
        BandsMicrometers = new Dictionary<string, string> { [NorthGate.Id.Value] = band, [QuarrySteps.Id.Value] = band },
    }.Write();

    private static double Upper(InfraredBand band) => ReadingUncertainty.UpperCelsius(NorthGate with { ProbeBand = band }, 55, 35, 30);
}
