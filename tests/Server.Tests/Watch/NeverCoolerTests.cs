using System.Net.ServerSentEvents;
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
using PavementWatch.Tests;

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
        await using var phone = new LivePhone(browser);
        var live = new List<Live>();
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
                live.Add(new Live(now, now - age, surface));
                said = $"{said} {surface} °C {reading.Quality}, {age.TotalSeconds} s old, dated {reading.MeasuredAt:u}";
            }

            await UntilHeardAsync(server, step);
            if (NewestAt(live, now) is not { } celsius)
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
            // The stream takes breath between two events, so that what it says last is not waited for at each step.
            if (step % 10 == 0)
                await Patience.UntilAsync(() => phone.Last is { } last && Cooler(last, celsius) is null, () => $"{where}: the live stream says {phone.Last}");
        }

        Assert.True(live.Count > 60);
        var events = phone.Said;
        // The faster the steps, the fewer: it takes breath by the machine's time.
        Assert.True(events.Count >= 5, $"the live stream said {events.Count} things only");
        foreach (var one in events)
        {
            // Said while a reading came, it may be from before that or after.
            var before = NewestAt([.. live.Where(l => l.SentAt < one.Now)], one.Now);
            var then = NewestAt([.. live.Where(l => l.SentAt <= one.Now)], one.Now);
            if (before is { } least && Cooler(one, Math.Min(least, then!.Value)) is { } fault)
                Assert.Fail($"seed {seed}: the live stream said {fault} at {one.Now:u}, measured {least}, then {then}: {one}");
        }
    }

    private static double? NewestAt(IReadOnlyList<Live> live, DateTimeOffset now) =>
        live.Where(l => now - l.TakenAt <= TimeSpan.FromMinutes(1)).OrderBy(l => l.TakenAt).ThenBy(l => l.SurfaceCelsius).Select(l => (double?)l.SurfaceCelsius).LastOrDefault();

    /// <summary>What is cooler than it was measured in what was said; <c>null</c> when nothing is.</summary>
    private static string? Cooler(LiveSaid said, double celsius) =>
        !(said.Celsius >= celsius) ? $"{said.Celsius} °C"
        : GroundWords.Gravity(said.Word) < GroundWords.Gravity(GroundWords.For(celsius, said.LimitCelsius)) ? $"{said.Word}"
        : null;

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

    /// <summary>A reading whose age the server knows.</summary>
    private sealed record Live(DateTimeOffset SentAt, DateTimeOffset TakenAt, double SurfaceCelsius);

    /// <summary>What an event of the live stream said of the spot: the temperature, or where it is estimated the upper end.</summary>
    private sealed record LiveSaid(DateTimeOffset Now, double? Celsius, GroundWord Word, double LimitCelsius);

    /// <summary>A page that stays open and hears what changes.</summary>
    private sealed class LivePhone : IAsyncDisposable
    {
        private readonly CancellationTokenSource _closed = new();
        private readonly Lock _lock = new();
        private readonly List<LiveSaid> _said = [];
        private readonly Task _listening;

        public LivePhone(HttpClient browser) => _listening = ListenAsync(browser, _closed.Token);

        public IReadOnlyList<LiveSaid> Said
        {
            get
            {
                lock (_lock)
                    return [.. _said];
            }
        }

        public LiveSaid? Last => Said.Count > 0 ? Said[^1] : null;

        public async ValueTask DisposeAsync()
        {
            await _closed.CancelAsync();
            await _listening;
            _closed.Dispose();
        }

        private async Task ListenAsync(HttpClient browser, CancellationToken closed)
        {
            try
            {
                await using var stream = await browser.GetStreamAsync(new Uri("/api/live", UriKind.Relative), closed);
                await foreach (var one in SseParser.Create(stream).EnumerateAsync(closed))
                {
                    using var json = JsonDocument.Parse(one.Data);
                    foreach (var spot in json.RootElement.ValueKind == JsonValueKind.Array ? [.. json.RootElement.EnumerateArray()] : new[] { json.RootElement })
                        Note(spot);
                }
            }
            catch (OperationCanceledException)
            {
                // The page was closed.
            }
        }

        private void Note(JsonElement spot)
        {
            if (spot.GetProperty("id").GetString() != RunningServer.NorthGate.Id.Value)
                return;
            var celsius = spot.GetProperty(spot.GetProperty("estimated").GetBoolean() ? "upperCelsius" : "surfaceCelsius");
            lock (_lock)
            {
                _said.Add(new LiveSaid(
                    spot.GetProperty("now").GetDateTimeOffset(),
                    celsius.ValueKind == JsonValueKind.Number ? celsius.GetDouble() : null,
                    Enum.Parse<GroundWord>(spot.GetProperty("word").GetString()!, ignoreCase: true),
                    spot.GetProperty("limitCelsius").GetDouble()));
            }
        }
    }
}
