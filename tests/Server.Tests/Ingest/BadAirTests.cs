using System.Globalization;
using System.Text;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Ingest;

/// <summary>Air or humidity that cannot be, in a pack beside hot ground.</summary>
public sealed class BadAirTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("air", "Cel", 61.2, "air is 61.2, expected -60 to 60 °C")]
    [InlineData("humidity", "%RH", 101, "humidity is 101, expected 0 to 100 %")]
    public async Task Hot_ground_beside_it_is_stored_shown_and_warned_of_and_the_value_is_counted_and_named(string name, string unit, double value, string fault)
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        await server.MinuteAsync(NorthGate);

        for (var i = 1; i <= 2; i++)
        {
            var at = server.Time.GetUtcNow().ToUnixTimeSeconds();
            var pack = string.Create(CultureInfo.InvariantCulture, $$"""
                [{"bn":"north-gate-plaza/","bt":{{at}},"n":"surface","u":"Cel","v":{{62 + i}}},{"n":"{{name}}","u":"{{unit}}","v":{{value}}}]
                """);
            var outcome = await server.Get<IngestPipeline>().AcceptAsync(Gate, Encoding.UTF8.GetBytes(pack), new PackOrigin(new PackNumber("boot", i), TimeSpan.Zero, false));

            var accepted = Assert.IsType<IngestOutcome.Accepted>(outcome);
            Assert.Equal((1, 1), (accepted.StoredCount, accepted.RefusedCount));
            Assert.Contains(fault, accepted.FirstRefusal, StringComparison.Ordinal);
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 62 + i);
            await server.MinuteAsync(NorthGate);
        }

        var shown = await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        Assert.Equal((64.0, GroundWord.BurnsInSeconds), (shown.SurfaceCelsius, shown.Word));
        Assert.Equal(2, server.Get<IngestMetrics>().RefusedBy(Gate));
        Assert.All(
            await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon, Noon.AddHours(1), Cancel),
            stored => Assert.Equal((ReadingQuality.Good, null, null), (stored.Reading.Quality, stored.Reading.AirCelsius, stored.Reading.HumidityPercent)));
    }
}
