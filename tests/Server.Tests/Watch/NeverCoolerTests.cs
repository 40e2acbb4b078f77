using System.Text.Json;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Days;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Whatever clocks, delays, doubts and strangers' dates do: no spot is shown cooler than its newest live reading.</summary>
public sealed class NeverCoolerTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(1)]
    [InlineData(20260714)]
    [InlineData(987654321)]
    public async Task Nothing_shows_a_spot_cooler_than_its_newest_live_reading(int seed)
    {
        var random = new Random(seed);
        await using var server = await RunningServer.StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Cancel);
        using var browser = await server.BrowserOfAsync(Role.Business);
        // From here on the watch listens.
        await UntilHeardAsync(server, 0);
        var live = new List<(DateTimeOffset TakenAt, double SurfaceCelsius)>();
        var calendarIsAhead = TimeSpan.Zero;
        for (var step = 1; step <= 120; step++)
        {
            server.Time.Advance(TimeSpan.FromSeconds(random.Next(1, 90)));
            var now = server.Time.GetUtcNow();
            var said = "";
            if (random.Next(6) == 0)
                calendarIsAhead = OneOf(random, [0, 50, -50, 240, -240, 3540, -7200, 400 * 86_400]);
            if (random.Next(3) == 0)
            {
                // Somebody without packs and ages, or a backlog: whatever its date, no age says that it is of now.
                var cool = new Reading(RunningServer.NorthGate.Id, now + OneOf(random, [61, 240, 3540, -3600, -86_400])) { SurfaceCelsius = 20, AirCelsius = 18 };
                await SendAsync(server, [cool], new PackOrigin(random.Next(2) == 0 ? new PackNumber("boot", step) : null, null, false));
                said = $"cool one dated {cool.MeasuredAt:u}";
            }

            if (random.Next(4) > 0)
            {
                var age = TimeSpan.FromSeconds(random.Next(0, 20));
                var surface = Math.Round(15 + (50 * random.NextDouble()), 1);
                var reading = new Reading(RunningServer.NorthGate.Id, now - age + calendarIsAhead)
                {
                    SurfaceCelsius = surface,
                    AirCelsius = 33,
                    Quality = random.Next(4) == 0 ? ReadingQuality.Suspect : ReadingQuality.Good,
                    Doubt = Doubt.None,
                };
                if (reading.Quality == ReadingQuality.Suspect)
                    reading = reading with { Doubt = Doubt.Spike };
                await SendAsync(server, [reading], new PackOrigin(new PackNumber("boot", step), age, false));
                live.Add((now - age, surface));
                said = $"{said} {surface} °C {reading.Quality}, {age.TotalSeconds} s old, dated {reading.MeasuredAt:u}";
            }

            await UntilHeardAsync(server, step);
            var newest = live.Where(l => now - l.TakenAt <= TimeSpan.FromMinutes(1)).OrderBy(l => l.TakenAt).ThenBy(l => l.SurfaceCelsius).Select(l => (double?)l.SurfaceCelsius).LastOrDefault();
            if (newest is not { } celsius)
                continue;
            var where = $"seed {seed}, step {step}, {now:u}, after {said}";
            var spot = server.Get<ISpotBoard>().Find(RunningServer.NorthGate.Id)!;
            Assert.True((spot.Estimated ? spot.UpperCelsius : spot.SurfaceCelsius) >= celsius, $"{where}: the board shows {spot}, measured {celsius}");
            // Unknown is graver than warm, and no warning.
            Assert.True(
                GroundWords.Gravity(spot.Word) >= GroundWords.Gravity(GroundWords.For(celsius, spot.LimitCelsius)), $"{where}: the board says {spot.Word} of {celsius} °C");
            using var told = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative), Cancel));
            var api = told.RootElement.EnumerateArray().Single(s => s.GetProperty("id").GetString() == RunningServer.NorthGate.Id.Value);
            Assert.True(api.GetProperty(spot.Estimated ? "upperCelsius" : "surfaceCelsius").GetDouble() >= celsius, $"{where}: the API says {api}");
            var day = await server.Get<ISpotDays>().DayAsync(RunningServer.NorthGate.Id, server.Get<ISpotDays>().Today(RunningServer.NorthGate.Id)!.Value, Cancel);
            Assert.DoesNotContain(day!.Points, p => p.SurfaceCelsius is not null && p.At > now + TimeSpan.FromMinutes(1) + SpotDays.Step);
        }

        Assert.True(live.Count > 60);
    }

    private static TimeSpan OneOf(Random random, double[] seconds) => TimeSpan.FromSeconds(seconds[random.Next(seconds.Length)]);

    private static async Task SendAsync(RunningServer server, Reading[] readings, PackOrigin origin) =>
        await server.Get<IngestPipeline>().AcceptAsync(Gate, ReadingPack.Write(readings), origin);

    // The feed is told in order: when a mark at another spot is seen, all before it was.
    private static async Task UntilHeardAsync(RunningServer server, int step)
    {
        var mark = 10 + (step / 10.0);
        await SendAsync(
            server, [RunningServer.Good(RunningServer.QuarrySteps, server.Time.GetUtcNow(), mark)], new PackOrigin(new PackNumber("marks", step), TimeSpan.Zero, false));
        await server.SeenAsync(RunningServer.QuarrySteps, s => s.SurfaceCelsius == mark);
    }
}
