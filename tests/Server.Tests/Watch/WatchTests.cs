using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

public sealed class WatchTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_spot_nobody_measures_is_unknown_and_never_comfortable()
    {
        await using var server = await StartAsync();

        var now = await server.MinuteAsync(NorthGate);

        Assert.Equal((AlertState.Silent, GroundWord.Unknown), (now.State, now.Word));
        Assert.Null(now.SurfaceCelsius);
        Assert.Null(now.ContactTime);
        Assert.Null(now.MeasuredAt);
    }

    [Fact]
    public async Task Ground_at_freezing_is_said_so_and_icy_where_the_dew_point_lies_over_it()
    {
        await using var server = await StartAsync();

        // Air of 1 °C and 30 % has its dew point at about −14 °C; at 95 % a little over freezing.
        await server.MeasureAsync(Good(NorthGate, Noon, -3, air: 1));
        var dry = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == -3);
        await server.MinuteAsync(NorthGate);
        await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(1), -4, air: 1) with { HumidityPercent = 95 });
        var damp = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == -4);

        Assert.Equal((GroundWord.Freezing, false), (dry.Word, dry.MayBeIcy));
        Assert.Equal((GroundWord.Freezing, true), (damp.Word, damp.MayBeIcy));
    }

    [Fact]
    public async Task Two_readings_over_the_limit_make_a_spot_too_hot_and_the_change_is_kept_with_its_reason()
    {
        await using var server = await StartAsync();

        await server.MeasureAsync(Good(NorthGate, Noon, 48));
        Assert.Equal(GroundWord.Warm, (await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 48)).Word);
        await server.MinuteAsync(NorthGate);
        await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(1), 51));
        await server.MinuteAsync(NorthGate);
        await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(2), 52));
        var now = await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);

        Assert.Equal((52, false, GroundWord.TooHot), (now.SurfaceCelsius, now.Estimated, now.Word));
        // Of the hottest it may be, not of what is read.
        Assert.True(now.ContactTime < ContactTime.Limit(53), $"{now.ContactTime}");
        Assert.Equal(Noon.AddMinutes(2), now.MeasuredAt);
        // Dated, by the spot's own clock: the sentence stays while the temperature goes on.
        Assert.Matches("^[0-9]{1,2} [A-Z][a-z]+, [0-9]{2}:[0-9]{2}: .* is too hot: the ground is at 52 °C \\(126 °F\\)", SpotNowJson.Of(now, TemperatureUnit.Both).Because);
        var change = (await EventsAsync(server)).Last();
        Assert.Equal((AlertState.TooHot, AlertReason.ReadingsOverLimit, 52.0), (change.To, change.Because, change.SurfaceCelsius));
    }

    [Fact]
    public async Task A_late_reading_changes_history_only()
    {
        await using var server = await StartAsync();
        await server.MeasureAsync(Good(NorthGate, Noon, 40));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);

        await server.MeasureAsync([.. Enumerable.Range(0, 30).Select(i => Good(NorthGate, Noon.AddMinutes(-60 + i), 60))]);
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(30), 40.5));
        var now = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 40.5);

        Assert.NotEqual(AlertState.TooHot, now.State);
        Assert.DoesNotContain(await EventsAsync(server), e => e.To == AlertState.TooHot);
    }

    [Fact]
    public async Task Under_a_cloud_no_all_clear_is_told_and_the_card_says_how_soon_it_is_hot_again()
    {
        await using var server = await StartAsync();
        await TooHotAsync(server);

        for (var i = 4; i < 20; i++)
        {
            await server.MinuteAsync(NorthGate);
            await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 44 + (i * 0.01)));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 44 + (i * 0.01));
        }

        var now = await server.SeenAsync(NorthGate, s => s.State == AlertState.Easing);
        Assert.Contains("North Gate plaza is below its limit in cloud; hot again within minutes of sun: the ground is at 44 °C (111 °F)", SpotNowJson.Of(now, TemperatureUnit.Both).Because, StringComparison.Ordinal);
        Assert.DoesNotContain((await EventsAsync(server)).SkipWhile(e => e.To != AlertState.TooHot), e => e.To == AlertState.Clear);
    }

    [Fact]
    public async Task A_suspect_reading_is_named_and_neither_measured_nor_clearing()
    {
        await using var server = await StartAsync();
        await TooHotAsync(server);

        for (var i = 4; i < 20; i++)
        {
            await server.MinuteAsync(NorthGate);
            await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(i), 20) with
            {
                Quality = ReadingQuality.Suspect,
                Doubt = Doubt.Wet,
            });
        }

        var now = await server.MinuteAsync(NorthGate);

        Assert.Equal(Doubt.Wet, now.Doubt);
        Assert.NotEqual(20, now.SurfaceCelsius);
        Assert.NotEqual(AlertState.Clear, now.State);
        Assert.DoesNotContain((await EventsAsync(server)).SkipWhile(e => e.To != AlertState.TooHot), e => e.To == AlertState.Clear);
    }

    [Theory]
    [InlineData(Doubt.Spike)]
    [InlineData(Doubt.Disagrees)]
    [InlineData(Doubt.Wet)]
    [InlineData(Doubt.Stuck)]
    public async Task Where_nothing_is_estimated_a_reading_that_may_be_too_cool_is_shown_as_a_number_and_no_more(Doubt doubt)
    {
        await using var server = await StartAsync();
        await server.MinuteAsync(NorthGate);

        // No air is known of the site.
        await server.MeasureAsync(Doubted(server.Time.GetUtcNow(), 36));
        var now = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 36);

        Assert.Equal((false, GroundWord.Unknown, null, doubt), (now.Estimated, now.Word, now.ContactTime, now.Doubt));
        using var browser = await server.BrowserOfAsync(Role.Walker);
        using (var json = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative), Cancel)))
            Assert.Equal("unknown", json.RootElement[0].GetProperty("word").GetString());
        // A limit that is changed says no more of it.
        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, s => s with { LimitCelsius = 45 }, Cancel);
        Assert.Equal(GroundWord.Unknown, server.Get<SpotBoard>().Find(NorthGate.Id)?.Word);

        // Beside a good one it is the hotter of two.
        await server.MinuteAsync(NorthGate);
        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 30, air: null));
        Assert.Equal(GroundWord.Comfortable, (await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 30)).Word);
        await server.MinuteAsync(NorthGate);
        await server.MeasureAsync(Doubted(server.Time.GetUtcNow(), 37));
        Assert.Equal(GroundWord.Comfortable, (await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 37)).Word);

        Reading Doubted(DateTimeOffset at, double celsius) => Good(NorthGate, at, celsius, air: null) with { Quality = ReadingQuality.Suspect, Doubt = doubt };
    }

    [Fact]
    public async Task A_silent_spot_shows_an_estimate_whose_upper_end_chooses_the_word()
    {
        await using var server = await StartAsync();
        await server.MeasureAsync(HotMorning(NorthGate).Select(r => r with { SurfaceCelsius = r.SurfaceCelsius - 7 }));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        for (var i = 0; i < 10; i++)
            await server.MinuteAsync(NorthGate);
        var before = await server.MinuteAsync(NorthGate);
        Assert.True(before.LowerCelsius < before.SurfaceCelsius && before.SurfaceCelsius < before.UpperCelsius, $"{before}");

        // A limit between what is estimated and what it may be; nearer to the former, for the look may be some minutes behind the clock.
        var limit = (0.75 * before.SurfaceCelsius!.Value) + (0.25 * before.UpperCelsius!.Value);
        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, spot => spot with { LimitCelsius = limit }, Cancel);
        var now = await server.MinuteAsync(NorthGate);

        Assert.Equal((AlertState.Silent, true, Noon), (now.State, now.Estimated, now.MeasuredAt));
        // It was at 47 °C.
        Assert.InRange(now.SurfaceCelsius!.Value, 44, limit);
        Assert.InRange(now.UpperCelsius!.Value, limit, 52);
        Assert.Equal(GroundWord.TooHot, now.Word);
        // Published tables: 2 min at 51 °C, 15 min at 48 °C to a second-degree burn (reference, section 1.1); no more than ten are said.
        Assert.InRange(now.ContactTime!.Value, TimeSpan.FromMinutes(now.UpperCelsius < 51 ? 2 : 1), TimeSpan.FromMinutes(10));
    }

    [Fact]
    public async Task A_wet_morning_is_told_beside_the_estimate_and_the_upper_end_still_chooses_the_word()
    {
        var bench = new Spot(SpotId.Parse("bench"), "Bench", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };
        await using var server = await StartAsync(spots: [NorthGate, bench]);
        await server.MeasureAsync(HotMorning(NorthGate).Select(r => r with { HumidityPercent = r.MeasuredAt > Noon.AddHours(-1) ? 98 : 60 }));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        await server.MinuteAsync(bench);

        var now = await server.SeenAsync(bench, s => s.Estimated);
        Assert.Equal(EstimateDoubt.HandbookOnly | EstimateDoubt.MaybeWet, now.EstimateDoubt);
        // Wet ground may be cooler; nobody is told so.
        Assert.InRange(now.UpperCelsius!.Value, 56, 75);
        Assert.Equal(GroundWord.BurnsInSeconds, now.Word);
        using var browser = await server.BrowserOfAsync(Role.Walker);
        using var json = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative), Cancel));
        Assert.Equal(["handbookOnly", "maybeWet"], json.RootElement[1].GetProperty("estimateDoubts").EnumerateArray().Select(d => d.GetString()));
        Assert.Empty(json.RootElement[0].GetProperty("estimateDoubts").EnumerateArray());
        using var day = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots/bench/day", UriKind.Relative), Cancel));
        Assert.Contains("maybeWet", day.RootElement.GetProperty("doubts").EnumerateArray().Select(d => d.GetProperty("kind").GetString()));
    }

    [Fact]
    public async Task A_spot_without_a_probe_is_estimated_from_its_sites_air()
    {
        var bench = new Spot(SpotId.Parse("bench"), "Bench", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };
        var alone = new Spot(SpotId.Parse("alone"), "Alone", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
        await using var server = await StartAsync(spots: [NorthGate, bench, alone]);
        await server.MeasureAsync(HotMorning(NorthGate));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        await server.MinuteAsync(bench);

        var now = await server.SeenAsync(bench, s => s.Estimated);
        var other = await server.MinuteAsync(alone);

        Assert.InRange(now.SurfaceCelsius!.Value, 45, 75); // Asphalt at solar noon under 36 °C: reference, section 4.1.
        Assert.Equal(36, now.AirCelsius!.Value, 1.0);
        Assert.Null(now.MeasuredAt);
        Assert.Equal((false, GroundWord.Unknown), (other.Estimated, other.Word));
    }

    [Fact]
    public async Task Before_its_first_reading_a_spot_is_unknown_everywhere_whatever_the_handbook_says_of_it()
    {
        var bench = new Spot(SpotId.Parse("bench"), "Bench", SurfaceKind.Grass, 37.4, -97.0, "America/Chicago") { Site = "North Gate" };
        await using var server = await StartAsync(spots: [NorthGate, bench]);
        await server.Get<GatewayStore>().SetGatewayAsync(GatewayId.Parse("north-gate"), "secret", [NorthGate.Id, bench.Id], Cancel);
        await server.MeasureAsync(HotMorning(NorthGate).Select(r => r with { AirCelsius = 18, SurfaceCelsius = 30 }));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        using var browser = await server.BrowserOfAsync(Role.Walker);
        await using var live = await browser.GetStreamAsync(new Uri("/api/live", UriKind.Relative), Cancel);
        using var lines = new StreamReader(live);

        var now = await server.MinuteAsync(bench);

        Assert.True(now.Estimated && now.UpperCelsius < GroundWords.WarmFromCelsius, $"the estimate alone would be comfortable: {now}");
        Assert.Equal((GroundWord.Unknown, null), (now.Word, now.ContactTime));
        using var json = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative), Cancel));
        Assert.Equal("unknown", json.RootElement[1].GetProperty("word").GetString());
        Assert.Contains("treat it as too hot", json.RootElement[1].GetProperty("texts").GetProperty("touch").GetString(), StringComparison.Ordinal);
        foreach (var path in new[] { "/", "/spots/bench" })
        {
            var page = await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel);
            var card = page[page.IndexOf("id=\"spot-bench\"", StringComparison.Ordinal)..];
            Assert.StartsWith("unknown", card[(card.IndexOf("data-word=\"", StringComparison.Ordinal) + 11)..], StringComparison.Ordinal);
        }

        var day = await browser.GetStringAsync(new Uri("/spots/bench", UriKind.Relative), Cancel);
        Assert.DoesNotContain("<li data-word=\"comfortable\"", day, StringComparison.Ordinal);
        Assert.DoesNotContain("Not too hot", day, StringComparison.Ordinal);
        Assert.Contains("Unknown: nothing was ever measured here", day, StringComparison.Ordinal);
        string? told;
        while ((told = await lines.ReadLineAsync(Cancel)) is not null && !(told.Contains("\"id\":\"bench\"", StringComparison.Ordinal) && !told.StartsWith("data: [", StringComparison.Ordinal)))
        {
        }

        Assert.Contains("\"word\":\"unknown\"", told, StringComparison.Ordinal);
        await server.Get<SpotStore>().EditSpotAsync(bench.Id, s => s with { LimitCelsius = 45 }, Cancel);
        Assert.Equal(GroundWord.Unknown, server.Get<SpotBoard>().Find(bench.Id)?.Word);

        await server.MeasureAsync(Good(bench, server.Time.GetUtcNow(), 24, 18));
        Assert.Equal(GroundWord.Comfortable, (await server.SeenAsync(bench, s => s.SurfaceCelsius == 24)).Word);
    }

    [Theory]
    [InlineData(40, false)]
    [InlineData(66, true)]
    public async Task A_dark_spot_borrows_heat_of_a_measured_one_and_no_coolness(double neighbourCelsius, bool isLent)
    {
        var steps = NorthGate with { Id = SpotId.Parse("north-gate-steps"), Name = "North Gate steps" };
        // What it would be estimated at without its neighbour's surface.
        var other = steps with { Id = SpotId.Parse("other-steps"), Site = "" };
        await using var server = await StartAsync(spots: [NorthGate, steps, other]);
        await server.MeasureAsync(HotMorning(NorthGate));
        await server.MeasureAsync(HotMorning(other).Select(r => r with { SurfaceCelsius = null }));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);
        for (var i = 2; i < 12; i++)
        {
            await server.MeasureAsync(Good(NorthGate, Noon.AddMinutes(i), neighbourCelsius, 36), Good(other, Noon.AddMinutes(i), null, 36));
            await server.MinuteAsync(steps);
        }

        await server.MinuteAsync(steps);
        var beside = await server.SeenAsync(steps, s => s.Estimated && s.Now == server.Time.GetUtcNow());
        var alone = await server.SeenAsync(other, s => s.Estimated && s.Now == server.Time.GetUtcNow());
        if (isLent)
            Assert.True(beside.UpperCelsius > alone.UpperCelsius + 1, $"{alone.UpperCelsius:F1} °C alone, {beside.UpperCelsius:F1} °C beside one in the sun");
        else
            // Its air is lent, and may be a minute older.
            Assert.Equal(alone.UpperCelsius!.Value, beside.UpperCelsius!.Value, 0.1);
    }

    [Fact]
    public async Task A_limit_raised_while_it_is_hot_is_told_with_who_changed_it_and_not_as_cooler_ground()
    {
        // At night: no sun comes back.
        await using var server = await StartAsync(time: new FakeTimeProvider(Noon.AddHours(11)));
        await TooHotAsync(server);
        using var business = await server.BrowserOfAsync(Role.Business);
        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, spot => spot with { LimitCelsius = 45 }, Cancel);
        await MinuteOfAsync(server, 47);
        using var answer = await business.PostAsync("/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = "52", ["unit"] = "celsius" });

        for (var i = 0; i < 14; i++)
            await MinuteOfAsync(server, 47 + (i * 0.01));

        var told = Assert.Single(await EventsAsync(server), e => e is { Because: AlertReason.UnderRaisedLimit, Notified: true });
        Assert.Equal((45.0, 52.0, LimitChanger.Business), (told.LimitBeforeCelsius, told.LimitCelsius, told.LimitChangedBy));
        Assert.Contains("the limit was changed by the business from 45 °C (113 °F) to 52 °C (126 °F)", AlertTexts.Whole("A", told.Decision(), "Etc/UTC", TemperatureUnit.Both), StringComparison.Ordinal);
        Assert.DoesNotContain(await EventsAsync(server), e => e.Because == AlertReason.UnderLongEnough);

        static async Task MinuteOfAsync(RunningServer server, double celsius)
        {
            await server.MinuteAsync(NorthGate);
            await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), celsius));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == celsius);
        }
    }

    [Fact]
    public async Task Listeners_come_and_go_while_the_board_tells_without_an_error()
    {
        await using var server = await StartAsync();
        var board = server.Get<SpotBoard>();
        var told = board.Find(NorthGate.Id)!;
        using var done = new CancellationTokenSource();
        // Another thread tells all the while; a listener that has left must not trip it.
        var telling = Task.Run(() =>
        {
            while (!done.IsCancellationRequested)
                board.Publish(told);
        }, Cancel);
        for (var i = 0; i < 20_000; i++)
            board.Listen().Dispose();
        await done.CancelAsync();
        await telling;
    }

    [Fact]
    public async Task A_restart_changes_nothing_and_tells_nobody_twice()
    {
        var folder = Directory.CreateTempSubdirectory("pw-watch-").FullName;
        await using (var first = await StartAsync(folder))
            await TooHotAsync(first);

        var time = new FakeTimeProvider(Noon.AddMinutes(4));
        await using (var second = await StartAsync(folder, time))
        {
            var before = await second.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
            Assert.Equal(52, before.SurfaceCelsius);
            Assert.Contains("is too hot", SpotNowJson.Of(before, TemperatureUnit.Both).Because, StringComparison.Ordinal);

            await second.MeasureAsync(Good(NorthGate, Noon.AddMinutes(4), 53));
            await second.SeenAsync(NorthGate, s => s.SurfaceCelsius == 53);
            Assert.Single(await EventsAsync(second), e => e.To == AlertState.TooHot);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_server_that_was_off_overnight_warns_of_the_next_days_heat()
    {
        var folder = Directory.CreateTempSubdirectory("pw-watch-").FullName;
        await using (var first = await StartAsync(folder))
            await TooHotAsync(first);

        await using (var second = await StartAsync(folder, new FakeTimeProvider(Noon.AddDays(1))))
        {
            for (var i = 0; i < 2; i++)
            {
                await second.MeasureAsync(Good(NorthGate, second.Time.GetUtcNow(), 55 + i));
                await second.SeenAsync(NorthGate, s => s.SurfaceCelsius == 55 + i);
                await second.MinuteAsync(NorthGate);
            }

            // By the estimate, which is there before the first reading.
            var told = Assert.Single(await EventsAsync(second), e => e.Notified && e.At >= Noon.AddDays(1));
            Assert.Equal(AlertReason.EstimateOverLimit, told.Because);
            Assert.Equal(AlertState.TooHot, second.Get<SpotBoard>().Find(NorthGate.Id)!.State);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_server_that_was_away_for_six_hours_warns_again()
    {
        var folder = Directory.CreateTempSubdirectory("pw-watch-").FullName;
        await using (var first = await StartAsync(folder))
            await TooHotAsync(first);

        var back = Noon.AddMinutes(4).AddHours(6);
        await using (var second = await StartAsync(folder, new FakeTimeProvider(back)))
        {
            for (var i = 0; i < 2; i++)
            {
                await second.MeasureAsync(Good(NorthGate, second.Time.GetUtcNow(), 54 + i));
                await second.SeenAsync(NorthGate, s => s.SurfaceCelsius == 54 + i);
                await second.MinuteAsync(NorthGate);
            }

            await second.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
            Assert.Single(await EventsAsync(second), e => e.Notified && e.At >= back);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_spot_added_under_way_is_watched_from_the_next_minute()
    {
        await using var server = await StartAsync();
        var sand = new Spot(SpotId.Parse("sandpit-corner"), "Sandpit Corner", SurfaceKind.Sand, 37.4, -97.0, "America/Chicago");
        await server.Get<SpotStore>().AddSpotAsync(sand, Cancel);
        await server.MinuteAsync(sand);

        await server.MeasureAsync(Good(sand, server.Time.GetUtcNow(), 44));

        Assert.Equal(GroundWord.Warm, (await server.SeenAsync(sand, s => s.SurfaceCelsius == 44)).Word);
    }

    internal static async Task TooHotAsync(RunningServer server)
    {
        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 40));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);
        for (var i = 0; i < 3; i++)
        {
            var celsius = 50 + i;
            await server.MinuteAsync(NorthGate);
            await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), celsius));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == celsius);
        }

        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
    }

    /// <summary>Two days and a morning of air from 22 to 36 °C over asphalt, readings each ten minutes, an invented but ordinary summer.</summary>
    internal static IReadOnlyList<Reading> HotMorning(Spot spot) =>
    [
        .. Enumerable.Range(0, (2 * 144) + 73).Select(i => Noon.AddMinutes((i - (2 * 144) - 72) * 10)).Select(at =>
        {
            var sun = Math.Max(0, Math.Cos((at - Noon).TotalDays * 2 * Math.PI));
            return Good(spot, at, 24 + (30 * sun), 22 + (14 * sun));
        }),
    ];

    private static async Task<List<AlertEventRow>> EventsAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.AlertEvents.AsNoTracking().Where(e => e.SpotId == "north-gate-plaza").OrderBy(e => e.Id).ToListAsync(Cancel);
    }
}
