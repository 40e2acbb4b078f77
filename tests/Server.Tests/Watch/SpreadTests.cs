using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>How far the samples of a minute lay apart, from the pack to the card.</summary>
public sealed class SpreadTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task After_how_long_skin_is_hurt_counts_with_the_minutes_spread_and_with_the_usual_one_where_nobody_told()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);

        var (untold, quiet, flickering) = (await ShownAsync(server, null), await ShownAsync(server, 0), await ShownAsync(server, 2.5));

        // The reading's 35 °C and 30 %, see RunningServer.Good.
        Assert.Equal(Hurt(ReadingUncertainty.UntoldSpreadKelvin), untold.ContactTime);
        Assert.Equal(Hurt(0), quiet.ContactTime);
        Assert.Equal(Hurt(2.5), flickering.ContactTime);
        Assert.True(flickering.ContactTime < 0.7 * untold.ContactTime && untold.ContactTime < quiet.ContactTime, $"{flickering.ContactTime}, {untold.ContactTime}, {quiet.ContactTime}");
        Assert.Equal((48.0, 48.0), (untold.SurfaceCelsius, flickering.SurfaceCelsius));
        // What makes it so short is told with it.
        Assert.Equal((null, null, 2.5), (untold.VaryingKelvin, quiet.VaryingKelvin, flickering.VaryingKelvin));
        Assert.Equal(ReadingUncertainty.UpperCelsius(NorthGate, 48, 35, 30, 2.5), flickering.HottestCelsius);
        // Of now only: no store keeps it.
        Assert.Null((await server.Get<IReadingStore>().LatestAsync(NorthGate.Id, server.Time.GetUtcNow(), Cancel))!.Reading.SpreadKelvin);

        static TimeSpan Hurt(double spread) => ContactTime.Limit(ReadingUncertainty.UpperCelsius(NorthGate, 48, 35, 30, spread));
    }

    private static async Task<SpotNow> ShownAsync(RunningServer server, double? spread)
    {
        await server.MinuteAsync(NorthGate);
        var at = server.Time.GetUtcNow();
        await server.Get<IngestPipeline>().AcceptAsync(
            Gate, ReadingPack.Write([Good(NorthGate, at, 48) with { SpreadKelvin = spread }]), new PackOrigin(new PackNumber("boot", at.ToUnixTimeSeconds()), TimeSpan.Zero, false));
        return await server.SeenAsync(NorthGate, s => s.MeasuredAt == at && !s.Estimated);
    }
}
