using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Plausibility;

/// <summary>Readings that cannot be believed, on their way from the gateway to store, watch, pages and people.</summary>
public sealed class DoubtedReadingsTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static readonly Spot Green = NorthGate with { Id = SpotId.Parse("orchard-green"), Name = "Orchard Green", Surface = SurfaceKind.Grass };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_van_that_parks_on_a_hot_plaza_clears_nothing_and_everybody_sees_why()
    {
        await using var server = await HotNoonAsync();
        var told = await EventsAsync(server);

        // Half an hour of its roof, while the green beside it is in the sun.
        for (var i = 0; i < 30; i++)
            await MinuteAsync(server, 34, 31);
        var shown = await server.SeenAsync(NorthGate, s => s is { Estimated: true, State: AlertState.Silent } && s.Doubt.HasFlag(Doubt.Disagrees));
        Assert.True(shown.UpperCelsius > 49, $"{shown}");
        Assert.DoesNotContain((await EventsAsync(server)).Skip(told.Count), e => e.To is AlertState.Easing or AlertState.Clear || e.Notified);
        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon.AddMinutes(5), Noon.AddMinutes(29), Cancel);
        Assert.All(stored, s => Assert.Equal((34, ReadingQuality.Suspect, true), (Math.Round(s.Reading.SurfaceCelsius!.Value), s.Reading.Quality, s.Reading.Doubt.HasFlag(Doubt.Disagrees))));

        using (var walker = await server.BrowserOfAsync(Role.Walker))
        {
            Assert.Contains("newest reading in doubt: it jumped further than ground can, it is cooler than its weather explains", await PageAsync(walker, "/"), StringComparison.Ordinal);
            Assert.Matches("Readings in doubt from 12:0[0-9] to 12:[23][0-9], which do not count: .*it is cooler than its weather explains", await PageAsync(walker, "/spots/north-gate-plaza"));
        }

        using (var analyst = await server.BrowserOfAsync(Role.Analyst))
        {
            var page = await PageAsync(analyst, "/analyst/spots/north-gate-plaza");
            Assert.Matches("it is cooler than its weather explains</th><td class=\"num\">(29|30)</td>", page);
        }

        // It drives away.
        await MinuteAsync(server, 54, 31);
        await server.SeenAsync(NorthGate, s => s is { Estimated: false, State: AlertState.TooHot, Doubt: Doubt.None });
    }

    [Fact]
    public async Task A_cloud_over_the_whole_site_is_believed()
    {
        await using var server = await HotNoonAsync();
        for (var i = 0; i < 12; i++)
            await MinuteAsync(server, 54 - (1.4 * i), 31 - (0.5 * i));
        var shown = await server.SeenAsync(NorthGate, s => s.State == AlertState.Easing);
        Assert.Equal((false, Doubt.None), (shown.Estimated, shown.Doubt));
    }

    [Fact]
    public async Task A_shower_gives_no_all_clear_before_an_hour_is_over()
    {
        await using var server = await HotNoonAsync();
        for (var i = 0; i < 60; i++)
            await MinuteAsync(server, 35, 26, air: 27, humidity: i < 3 ? 60 : 80);
        await server.SeenAsync(NorthGate, s => s.Doubt.HasFlag(Doubt.Wet) && s.State == AlertState.Silent);
        Assert.DoesNotContain(await EventsAsync(server), e => e.At > Noon.AddMinutes(6) && e.To is AlertState.Easing or AlertState.Clear);
        using (var walker = await server.BrowserOfAsync(Role.Walker))
            Assert.Contains("newest reading in doubt: the ground or the sensor is wet, or was within the hour", await PageAsync(walker, "/"), StringComparison.Ordinal);

        for (var i = 0; i < 20; i++)
            await MinuteAsync(server, 35, 26, air: 27, humidity: 80);
        var shown = await server.SeenAsync(NorthGate, s => s is { Doubt: Doubt.None, Estimated: false });
        Assert.Equal((35, AlertState.Easing), (Math.Round(shown.SurfaceCelsius!.Value), shown.State));
    }

    [Fact]
    public async Task Rain_that_a_station_measured_explains_a_drop_and_gives_no_all_clear_before_an_hour_is_over()
    {
        await using var server = await HotNoonAsync();
        var rained = server.Time.GetUtcNow();
        await server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin(NorthGate.Site, WeatherKind.Observed, rained), [new WeatherValues(rained.AddMinutes(-10)) { RainMillimeters = 0 }, new WeatherValues(rained) { RainMillimeters = 1.4 }], Cancel);
        // The air and its humidity stay, and so does the green: without the rain it would be a van.
        for (var i = 0; i < 59; i++)
            await MinuteAsync(server, 35, 31);
        await server.SeenAsync(NorthGate, s => s is { Doubt: Doubt.Wet, State: AlertState.Silent });
        Assert.DoesNotContain(await EventsAsync(server), e => e.At > rained.AddMinutes(2) && e.To is AlertState.Easing or AlertState.Clear);
        using (var analyst = await server.BrowserOfAsync(Role.Analyst))
            Assert.Contains("A station measured 1.4 mm of rain on these days, the last 12:0", await PageAsync(analyst, "/analyst/spots/north-gate-plaza"), StringComparison.Ordinal);

        for (var i = 0; i < 10; i++)
            await MinuteAsync(server, 35, 31);
        var shown = await server.SeenAsync(NorthGate, s => s is { Doubt: Doubt.None, Estimated: false });
        Assert.Equal((35, AlertState.Easing), (Math.Round(shown.SurfaceCelsius!.Value), shown.State));
    }

    [Fact]
    public async Task A_check_by_hand_that_agrees_ends_the_doubt()
    {
        await using var server = await HotNoonAsync();
        for (var i = 0; i < 10; i++)
            await MinuteAsync(server, 34, 31);
        Assert.NotEqual(Doubt.None, server.Get<ISpotBoard>().Find(NorthGate.Id)!.Doubt);

        await CheckAsync(server, "sun");
        await MinuteAsync(server, 34, 31);
        await server.SeenAsync(NorthGate, s => s is { Doubt: Doubt.None, Estimated: false });
    }

    [Fact]
    public async Task A_check_by_hand_in_the_shade_of_the_van_or_on_wet_ground_leaves_the_doubt()
    {
        await using var server = await HotNoonAsync();
        for (var i = 0; i < 10; i++)
            await MinuteAsync(server, 34, 31);
        foreach (var ground in new[] { "shade", "wet" })
        {
            await CheckAsync(server, ground);
            await MinuteAsync(server, 34, 31);
            var shown = await server.SeenAsync(NorthGate, s => s.Now == server.Time.GetUtcNow());
            Assert.True(shown is { Estimated: true } && shown.Doubt.HasFlag(Doubt.Disagrees), $"{ground}: {shown}");
        }
    }

    [Fact]
    public async Task The_business_that_has_looked_ends_the_doubt()
    {
        await using var server = await HotNoonAsync();
        for (var i = 0; i < 10; i++)
            await MinuteAsync(server, 34, 31);

        using var business = await server.BrowserOfAsync(Role.Business);
        Assert.Contains("its readings are cooler than air, sun and neighbours explain", await PageAsync(business, "/business/spots/north-gate-plaza"), StringComparison.Ordinal);
        using var answer = await business.PostAsync("/business/spots/north-gate-plaza", "explain", new Dictionary<string, string>());
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Contains("Kept: its readings are believed", WebUtility.HtmlDecode(await business.GetStringAsync(answer.Headers.Location, Cancel)), StringComparison.Ordinal);
        await MinuteAsync(server, 34, 31);
        await server.SeenAsync(NorthGate, s => s is { Doubt: Doubt.None, Estimated: false });
    }

    [Fact]
    public async Task A_restart_forgets_no_doubt()
    {
        var folder = Directory.CreateTempSubdirectory("pw-doubts-").FullName;
        DateTimeOffset back;
        await using (var first = await HotNoonAsync(folder))
        {
            for (var i = 0; i < 10; i++)
                await MinuteAsync(first, 34, 31);
            back = first.Time.GetUtcNow();
        }

        await using (var second = await StartAsync(folder, new FakeTimeProvider(back), spots: []))
        {
            for (var i = 0; i < 15; i++)
                await MinuteAsync(second, 34, 31);
            Assert.NotEqual(Doubt.None, second.Get<ISpotBoard>().Find(NorthGate.Id)!.Doubt);
            Assert.DoesNotContain(await EventsAsync(second), e => e.At > back && e.To is AlertState.Easing or AlertState.Clear);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Theory]
    [InlineData(Doubt.Disagrees)]
    [InlineData(Doubt.Wet)]
    public async Task A_doubt_is_not_forgotten_by_a_reading_that_comes_before_the_first_look_after_a_restart(Doubt doubt)
    {
        var folder = Directory.CreateTempSubdirectory("pw-doubts-").FullName;
        DateTimeOffset back;
        await using (var first = await HotNoonAsync(folder))
        {
            for (var i = 1; i <= 25; i++)
            {
                // As fast as ground cools in the shade of a van; or a shower.
                if (doubt == Doubt.Disagrees)
                    await MinuteAsync(first, Math.Max(36, 54 - i), 31);
                else
                    await MinuteAsync(first, 35, 26, air: 27, humidity: 80);
            }

            Assert.Equal(doubt, first.Get<ISpotBoard>().Find(NorthGate.Id)!.Doubt);
            back = first.Time.GetUtcNow().AddMinutes(1);
        }

        var comesFirst = Good(NorthGate, back, 36.1, doubt == Doubt.Wet ? 27 : 36) with { HumidityPercent = doubt == Doubt.Wet ? 80 : 30 };
        await using (var second = await StartAsync(
            folder, new FakeTimeProvider(back), spots: [], services: services => services.AddHostedService(provider => new SendsAtStart(provider.GetRequiredService<IngestPipeline>(), comesFirst))))
        {
            var stored = Assert.Single(await second.Get<IReadingStore>().RangeAsync(NorthGate.Id, back, back.AddMinutes(1), Cancel));
            Assert.Equal((ReadingQuality.Suspect, doubt), (stored.Reading.Quality, stored.Reading.Doubt));
            // No fit has ever seen such a shower, and it makes nothing comfortable.
            Assert.NotEqual(GroundWord.Comfortable, second.Get<ISpotBoard>().Find(NorthGate.Id)!.Word);
            for (var i = 0; i < 10; i++)
                await MinuteAsync(second, 36, doubt == Doubt.Wet ? 26 : 31, stored.Reading.AirCelsius!.Value, stored.Reading.HumidityPercent!.Value);
            Assert.Equal(doubt, second.Get<ISpotBoard>().Find(NorthGate.Id)!.Doubt);
            Assert.DoesNotContain(await EventsAsync(second), e => e.At >= back && e.To is AlertState.Easing or AlertState.Clear);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_backlog_is_judged_by_what_came_before_it()
    {
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        await server.MinuteAsync(NorthGate);
        // The network is away for two hours, with a shower after one.
        var backlog = Enumerable.Range(0, 120).Select(i => Good(NorthGate, Noon.AddMinutes(i - 120), i < 60 ? 47 : 33, i < 60 ? 36 : 27) with { HumidityPercent = i < 60 ? 30 : 80 });
        foreach (var (number, pack) in backlog.Chunk(50).Index())
        {
            for (var times = 0; times < 2; times++)
                await server.Get<IngestPipeline>().AcceptAsync(Gate, ReadingPack.Write(pack), new PackOrigin(new PackNumber("boot", number + 1), null, false));
        }

        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon.AddHours(-2), Noon, Cancel);
        Assert.Equal(120, stored.Count);
        Assert.All(stored.Take(60), s => Assert.Equal((ReadingQuality.Good, Doubt.None), (s.Reading.Quality, s.Reading.Doubt)));
        Assert.All(stored.Skip(60), s => Assert.Equal((ReadingQuality.Suspect, Doubt.Wet), (s.Reading.Quality, s.Reading.Doubt)));
    }

    [Fact]
    public async Task A_backlog_is_held_against_what_its_own_air_makes_of_the_ground()
    {
        await using var server = await HotNoonAsync();
        var from = server.Time.GetUtcNow();
        // The network is away for two hours, in which a van parks for one; the ground cools as fast as it can.
        server.Time.Advance(TimeSpan.FromHours(2));
        var backlog = Enumerable.Range(1, 110).SelectMany(i => new[] { (Green, 31.0), (NorthGate, i > 60 ? 52 : Math.Max(36.0, 54 - i)) }
            .Select(s => Good(s.Item1, from.AddMinutes(i), s.Item2 + (0.2 * Math.Sin(i)), 36) with { HumidityPercent = 30 }));
        foreach (var (number, pack) in backlog.Chunk(60).Index())
            await server.Get<IngestPipeline>().AcceptAsync(Gate, ReadingPack.Write(pack), new PackOrigin(new PackNumber("backlog", number + 1), null, false));

        var stored = (await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, from.AddMinutes(0.5), from.AddHours(2), Cancel)).Select(s => s.Reading).ToList();
        Assert.Equal(110, stored.Count);
        Assert.All(stored[20..60], r => Assert.Equal((ReadingQuality.Suspect, Doubt.Disagrees), (r.Quality, r.Doubt)));
        Assert.All(stored[60..], r => Assert.Equal((ReadingQuality.Good, Doubt.None), (r.Quality, r.Doubt)));
    }

    [Fact]
    public async Task A_stuck_sensor_is_found_beside_a_neighbour_in_minutes()
    {
        await using var server = await StartAsync(spots: [NorthGate, Green, QuarrySteps]);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id, Green.Id, QuarrySteps.Id], Cancel);
        await server.MinuteAsync(NorthGate);
        for (var i = 0; i < 10; i++)
            await MinuteAsync(server, 44.02, 30 + i, noise: 0);
        Assert.Equal(Doubt.Stuck, server.Get<ISpotBoard>().Find(NorthGate.Id)!.Doubt);
    }

    [Fact]
    public async Task Heat_is_told_however_doubtful_what_came_before_it_was()
    {
        await using var server = await HotNoonAsync(plazaCelsius: 44);
        for (var i = 0; i < 3; i++)
            await MinuteAsync(server, 20, 31);
        var before = server.Time.GetUtcNow();
        await MinuteAsync(server, 52, 31);
        await MinuteAsync(server, 52, 31);
        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        Assert.Contains(await EventsAsync(server), e => e.To == AlertState.TooHot && e.At >= before && e.At <= before.AddMinutes(2));
    }

    [Fact]
    public async Task A_store_that_does_not_answer_holds_no_heat_back_and_the_rest_once_for_all()
    {
        HangingStore? store = null;
        await using var server = await StartAsync(
            spots: [NorthGate, Green, QuarrySteps], services: services => HangingStore.In(services, made => store = made));
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id, Green.Id, QuarrySteps.Id], Cancel);
        await server.MinuteAsync(NorthGate);
        store!.Hang();

        await MinuteAsync(server, 58, 31);

        await server.SeenAsync(NorthGate, s => Math.Round(s.SurfaceCelsius ?? 0) == 58);
        Assert.Equal([Green.Id], store.Asked);
        store.LetGo();
    }

    [Fact]
    public async Task A_probe_nobody_has_checked_by_hand_says_so_to_those_who_look_after_it()
    {
        const string never = "This probe was never checked by hand";
        await using var server = await StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        using var business = await server.BrowserOfAsync(Role.Business);
        using var analyst = await server.BrowserOfAsync(Role.Analyst);
        using var walker = await server.BrowserOfAsync(Role.Walker);
        (HttpClient Browser, string Path)[] pages =
            [(business, "/"), (business, "/business"), (business, "/business/spots/north-gate-plaza"), (analyst, "/"), (analyst, "/analyst"), (analyst, "/analyst/spots/north-gate-plaza")];
        foreach (var (browser, path) in pages)
        {
            var page = await PageAsync(browser, path);
            // Of one spot only: nobody measures the other.
            Assert.True(page.Split(never).Length == 2, $"{path}: {page.Split(never).Length - 1} times");
        }

        Assert.DoesNotContain(never, await PageAsync(walker, "/"), StringComparison.Ordinal);
        using var answer = await analyst.PostAsync("/checks/new", "check", new Dictionary<string, string>
        {
            ["spot"] = NorthGate.Id.Value,
            ["temperature"] = "38.5",
            ["unit"] = "celsius",
            ["ground"] = "shade",
            ["thermometer"] = "Handy 2",
            ["emissivity"] = "",
        });
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        foreach (var (browser, path) in pages)
            Assert.DoesNotContain(never, await PageAsync(browser, path), StringComparison.Ordinal);
    }

    /// <summary>A plaza and a green after six days of an ordinary summer, fitted; the plaza is too hot at noon unless told otherwise.</summary>
    internal static async Task<RunningServer> HotNoonAsync(string? folder = null, double plazaCelsius = 54, IReadOnlyDictionary<string, string?>? settings = null)
    {
        var server = await StartAsync(folder, settings: settings, spots: [NorthGate, Green, QuarrySteps]);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id, Green.Id, QuarrySteps.Id], Cancel);
        await server.MeasureAsync(Days(NorthGate, plazaCelsius - 24));
        await server.MeasureAsync(Days(Green, 9));
        await server.Get<FitRunner>().RunAsync((Spot?)null, null, Cancel);
        for (var i = 0; i < 4; i++)
            await MinuteAsync(server, plazaCelsius, 31);
        if (plazaCelsius >= 49)
            await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        return server;
    }

    /// <summary>Readings each ten minutes up to noon: air of 22 to 36 °C, the ground over 24 or 22 °C by as much as told at noon.</summary>
    private static IEnumerable<Reading> Days(Spot spot, double noonKelvin) => Enumerable.Range(0, 6 * 144).Select(i => Noon.AddMinutes((i - (6 * 144) + 1) * 10)).Select((at, i) =>
    {
        var sun = Math.Max(0, Math.Cos((at - Noon).TotalDays * 2 * Math.PI));
        return Good(spot, at, (spot == Green ? 22 : 24) + (noonKelvin * sun) + (0.3 * Math.Sin(i)), 22 + (14 * sun));
    });

    /// <summary>A minute of the spots as their gateway sends it.</summary>
    internal static async Task MinuteAsync(RunningServer server, double plaza, double green, double air = 36, double humidity = 30, double noise = 0.2)
    {
        await server.MinuteAsync(NorthGate);
        var now = server.Time.GetUtcNow();
        var wave = noise * Math.Sin(now.Minute);
        // Heard in order: when the mark at the third spot is shown, the others were heard.
        var mark = 20 + (((now - Noon).TotalMinutes % 100) / 10);
        await server.Get<IngestPipeline>().AcceptAsync(
            Gate,
            ReadingPack.Write([.. new[] { (Green, green + wave), (NorthGate, plaza + wave), (QuarrySteps, mark) }.Select(s => Good(s.Item1, now, s.Item2, air) with { HumidityPercent = humidity })]),
            new PackOrigin(new PackNumber("boot", (long)(now - DateTimeOffset.UnixEpoch).TotalMinutes), TimeSpan.Zero, false));
        await server.SeenAsync(QuarrySteps, s => s.SurfaceCelsius == mark);
    }

    /// <summary>Holds a thermometer against the plaza that shows 34.5 °C.</summary>
    private static async Task CheckAsync(RunningServer server, string ground)
    {
        using var walker = await server.BrowserOfAsync(Role.Walker, $"Ines of the {ground}");
        using var answer = await walker.PostAsync("/checks/new", "check", new Dictionary<string, string>
        {
            ["spot"] = NorthGate.Id.Value,
            ["temperature"] = "34.5",
            ["unit"] = "celsius",
            ["ground"] = ground,
            ["thermometer"] = "Handy 2",
            ["emissivity"] = "",
        });
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
    }

    private static async Task<string> PageAsync(HttpClient browser, string path) =>
        WebUtility.HtmlDecode(await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel));

    private static async Task<List<AlertEventRow>> EventsAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.AlertEvents.AsNoTracking().Where(e => e.SpotId == "north-gate-plaza").OrderBy(e => e.Id).ToListAsync(Cancel);
    }

    /// <summary>A gateway that is quicker than the server's first look at its spots.</summary>
    private sealed class SendsAtStart(IngestPipeline pipeline, Reading reading) : IHostedService
    {
        public Task StartAsync(CancellationToken cancellationToken) =>
            pipeline.AcceptAsync(Gate, ReadingPack.Write([reading]), new PackOrigin(new PackNumber("early", 1), TimeSpan.Zero, false));

        public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
    }
}
