using System.Text.Json;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>The night's ice lies on after the ground is over freezing, on the card, in the day and in the API alike. Readings come every five minutes.</summary>
public sealed class IceLiesTests
{
    private static readonly TimeSpan Step = TimeSpan.FromMinutes(5);

    // Two in the morning in Ferngate.
    private static readonly DateTimeOffset Night = new(2026, 1, 13, 8, 0, 0, TimeSpan.Zero);
    private static readonly DateOnly Today = new(2026, 1, 13);

    private static readonly Dictionary<string, string?> Settings = new() { ["Watch:Interval"] = "00:05:00", ["Watch:Tick"] = "00:05:00" };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_froze_may_be_icy_until_it_has_thawed_for_hours_wherever_that_is_said()
    {
        await using var server = await StartAsync(time: new FakeTimeProvider(Night), settings: Settings);
        // Dew point of the air at −8 °C or so: dry all the time.
        Assert.False((await HoursAsync(server, 0.5, -5)).MayBeIcy);
        var frozen = await HoursAsync(server, 1, -5);
        Assert.Equal((GroundWord.Freezing, true), (frozen.Word, frozen.MayBeIcy));

        var thawed = await HoursAsync(server, 0.5, 8);
        Assert.Equal((GroundWord.Cold, true), (thawed.Word, thawed.MayBeIcy));
        using (var browser = await server.BrowserOfAsync(Role.Walker))
        {
            var card = (await JsonAsync(browser, "/api/spots")).EnumerateArray().Single(s => s.GetProperty("id").GetString() == NorthGate.Id.Value);
            Assert.Equal(("cold", true), (card.GetProperty("word").GetString(), card.GetProperty("mayBeIcy").GetBoolean()));
            Assert.Equal(
                ("may be icy", "ice may still lie: walk slowly, rinse and dry paws after"),
                (card.GetProperty("texts").GetProperty("word").GetString(), card.GetProperty("texts").GetProperty("touch").GetString()));
            // Before it was measured it is estimated, and the evening to come as well.
            var icy = (await JsonAsync(browser, $"/api/spots/{NorthGate.Id}/day")).GetProperty("icy")[0];
            Assert.True(icy.GetProperty("from").GetDateTimeOffset() <= frozen.IcySince);
            Assert.True(icy.GetProperty("to").GetDateTimeOffset() >= server.Time.GetUtcNow());
        }

        // Ground in doubt and a gap end nothing; after the gap the thaw begins anew, and the frost is spoken of.
        await HoursAsync(server, 1, 8, doubted: true);
        var back = await HoursAsync(server, 0.1, 8);
        Assert.Equal((true, AlertSide.Cold, AlertReason.ReadingsBack, 0.0), (back.MayBeIcy, back.Changed!.Side, back.Changed.Because, back.Changed.LimitCelsius));
        Assert.EndsWith("is measured again: the ground is at 8 °C (46 °F), the cold limit is 0 °C (32 °F). Ice may still lie.", SpotNowJson.Of(back, TemperatureUnit.Both).Because, StringComparison.Ordinal);
        Assert.True((await HoursAsync(server, 2.6, 8)).MayBeIcy);
        var over = await HoursAsync(server, 0.3, 8);
        Assert.Equal((GroundWord.Comfortable, false), (over.Word, over.MayBeIcy));

        var day = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;
        Assert.InRange(day.Icy[0].To, server.Time.GetUtcNow().AddHours(-0.5), server.Time.GetUtcNow());
    }

    [Fact]
    public async Task What_froze_before_a_restart_or_before_midnight_is_not_forgotten()
    {
        var folder = Directory.CreateTempSubdirectory("pw-ice-").FullName;
        try
        {
            // Nine in the evening.
            var time = new FakeTimeProvider(Night.AddHours(-5));
            await using (var server = await StartAsync(folder, time, Settings))
            {
                await HoursAsync(server, 1.5, -5);
                await HoursAsync(server, 1, 2);
            }

            await using var again = await StartAsync(folder, time, Settings, spots: []);
            var now = await HoursAsync(again, 1, 2);
            Assert.Equal((GroundWord.Cold, true), (now.Word, now.MayBeIcy));
            var day = (await again.Get<ISpotDays>().DayAsync(NorthGate.Id, Today, Cancel))!;
            Assert.Equal(day.From, day.Icy[0].From);
            Assert.True(day.Icy[0].To >= time.GetUtcNow());
            using var browser = await again.BrowserOfAsync(Role.Walker);
            Assert.Contains("May be icy since the beginning of the day", await browser.GetStringAsync($"/spots/{NorthGate.Id}", Cancel), StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task What_froze_in_a_gap_is_known_when_its_readings_come_late()
    {
        await using var server = await StartAsync(time: new FakeTimeProvider(Night), settings: Settings);
        Assert.False((await HoursAsync(server, 0.5, 2)).MayBeIcy);
        var gap = server.Time.GetUtcNow();
        server.SleepFor(TimeSpan.FromHours(2));
        List<StoredReading> late = [.. Enumerable.Range(1, 20).Select(i => new StoredReading(Dry(gap + (i * Step), -3), server.Time.GetUtcNow()))];
        await server.Get<IReadingStore>().AppendAsync(late, Cancel);
        server.Get<ReadingFeed>().Publish([.. late.Select(l => new HeardReading(l.Reading, null))]);
        var now = await HoursAsync(server, 0.1, 2);
        Assert.True(now.MayBeIcy, $"{now}");
    }

    private static Reading Dry(DateTimeOffset at, double celsius) =>
        new(NorthGate.Id, at) { SurfaceCelsius = celsius, AirCelsius = 5, HumidityPercent = 35 };

    private static async Task<SpotNow> HoursAsync(RunningServer server, double hours, double celsius, bool doubted = false)
    {
        var until = server.Time.GetUtcNow().AddHours(hours);
        SpotNow? shown = null;
        while (server.Time.GetUtcNow() < until)
        {
            var before = server.Time.GetTimestamp();
            server.Time.Advance(Step);
            await server.LookedAfterAsync(before);
            var now = server.Time.GetUtcNow();
            // Some thousandths apart: what stands still is doubted.
            var reading = Dry(now, celsius + (now.Minute / 1000.0));
            await server.MeasureAsync(doubted ? reading with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Disagrees } : reading);
            shown = doubted ? server.Get<SpotBoard>().Find(NorthGate.Id)! : await server.SeenAsync(NorthGate, s => s.MeasuredAt == now);
        }

        // What was read is stepped before the next look.
        var last = server.Time.GetTimestamp();
        server.Time.Advance(Step);
        await server.LookedAfterAsync(last);
        return await server.SeenAsync(NorthGate, s => s.Now == server.Time.GetUtcNow());
    }

    private static async Task<JsonElement> JsonAsync(HttpClient browser, string path)
    {
        using var json = JsonDocument.Parse(await browser.GetStringAsync(path, Cancel));
        return json.RootElement.Clone();
    }
}
