using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A gateway's backlog that its fast clock has dated: what it says is not of the days to come.</summary>
public sealed class DatedAheadTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_silent_spot_is_estimated_no_cooler_for_readings_dated_ahead()
    {
        var without = await UpperAfterSilenceAsync(isDatedAhead: false);
        var with = await UpperAfterSilenceAsync(isDatedAhead: true);

        Assert.True(with >= without, $"{with:F1} °C with them, {without:F1} °C without");
    }

    [Theory]
    [InlineData(2)]
    [InlineData(400 * 24)]
    public void Readings_dated_ahead_take_no_place_of_what_is_measured_then(int hours)
    {
        using var watch = new SpotWatch(NorthGate);
        watch.Begin(null, [], [], [], [], Noon, new AlertRule(), TimeSpan.Zero);
        // One for each step of three days and more.
        for (var i = 0; i < 450; i++)
            watch.Hear(new HeardReading(Good(NorthGate, Noon.AddHours(hours).AddMinutes(10 * i), 20), null), Noon, Minute);

        var later = Noon.AddHours(2);
        watch.Hear(new HeardReading(Good(NorthGate, later, 50), later), later, Minute);

        var samples = new List<WeatherSample>();
        watch.AddWeatherTo(samples, later, lent: null, place: null);
        Assert.Equal([(later, (double?)50)], samples.Select(s => (s.At, s.SurfaceCelsius)));
    }

    /// <summary>Twenty minutes after the last reading of a hot morning.</summary>
    private static async Task<double> UpperAfterSilenceAsync(bool isDatedAhead)
    {
        var gate = GatewayId.Parse("north-gate");
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [NorthGate.Id, QuarrySteps.Id], Cancel);
        await server.MeasureAsync(WatchTests.HotMorning(NorthGate));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        for (var i = 0; isDatedAhead && i < 10; i++)
        {
            // Numbered and without an age: what was taken before its gateway started anew.
            await server.Get<IngestPipeline>().AcceptAsync(
                gate, ReadingPack.Write([Good(NorthGate, Noon.AddMinutes(11 + i), 20, air: 18)]), new PackOrigin(new PackNumber("before", i + 1), null, false));
        }

        // The feed is told in order.
        await server.MeasureAsync(Good(QuarrySteps, Noon, 21));
        await server.SeenAsync(QuarrySteps, s => s.SurfaceCelsius == 21);
        for (var i = 0; i < 19; i++)
            await server.MinuteAsync(NorthGate);
        return (await server.MinuteAsync(NorthGate)).UpperCelsius!.Value;
    }
}
