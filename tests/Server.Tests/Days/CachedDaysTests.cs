using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Api;
using PavementWatch.Server.Database;
using PavementWatch.Server.Days;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Watch;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Days;

/// <summary>A day that was made is shown again, and never once something of it is different.</summary>
public sealed class CachedDaysTests
{
    private static readonly DateOnly Today = new(2026, 7, 14);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_day_is_made_once_while_nothing_of_it_changes()
    {
        await using var server = await MeasuredAsync();

        var first = await DayAsync(server);
        server.Time.Advance(TimeSpan.FromSeconds(30));

        Assert.Same(first, await DayAsync(server));
    }

    [Fact]
    public async Task A_day_that_is_kept_is_sent_as_one_that_is_made_anew_and_is_written_once()
    {
        await using var server = await MeasuredAsync();
        var (day, bodies) = (await DayAsync(server), server.Get<DayBodies>());

        var sent = bodies.Of(day);

        Assert.Same(sent, bodies.Of(day));
        Assert.Equal(sent, new DayBodies(server.Get<IOptions<JsonOptions>>()).Of(day));
        // One that is somebody's own is kept for nobody.
        var walked = day with { Walk = new WalkMark(Noon, Noon.AddMinutes(20), "Pickle", "") };
        Assert.NotSame(bodies.Of(walked), bodies.Of(walked));
        Assert.Contains("Pickle", Encoding.UTF8.GetString(bodies.Of(walked)), StringComparison.Ordinal);
        Assert.DoesNotContain("Pickle", Encoding.UTF8.GetString(bodies.Of(day)), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_reading_is_on_the_next_day_that_is_shown()
    {
        await using var server = await MeasuredAsync();
        server.Time.Advance(TimeSpan.FromSeconds(50));
        Assert.DoesNotContain((await DayAsync(server)).Points, p => p.SurfaceCelsius > 60);

        // By the watch's own way in, and with no minute over.
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(50), 66));

        Assert.Contains((await DayAsync(server)).Points, p => p.SurfaceCelsius == 66);
    }

    [Fact]
    public async Task A_reading_that_comes_late_is_on_the_day_it_is_of()
    {
        await using var server = await MeasuredAsync();
        var before = await DayAsync(server, Today.AddDays(-1));

        await server.Get<IReadingStore>().AppendAsync([new StoredReading(Good(NorthGate, Noon.AddDays(-1).AddMinutes(2), 77), Noon)], Cancel);

        Assert.DoesNotContain(before.Points, p => p.SurfaceCelsius == 77);
        Assert.Contains((await DayAsync(server, Today.AddDays(-1))).Points, p => p.SurfaceCelsius == 77);
    }

    [Fact]
    public async Task A_limit_that_is_changed_counts_at_once()
    {
        await using var server = await MeasuredAsync();
        var before = await DayAsync(server);

        await server.Get<SpotStore>().EditSpotAsync(NorthGate.Id, s => s with { LimitCelsius = 40 }, Cancel);

        Assert.True((await DayAsync(server)).TooHot[0].From < before.TooHot[0].From);
    }

    [Fact]
    public async Task A_fit_that_is_taken_into_use_counts_at_once()
    {
        await using var server = await MeasuredAsync();
        var before = await DayAsync(server);

        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);

        Assert.NotEqual(Estimates(before), Estimates(await DayAsync(server)));
    }

    [Fact]
    public async Task A_forecast_that_comes_in_counts_at_once()
    {
        await using var server = await MeasuredAsync();
        Assert.Null((await DayAsync(server)).Coming?.Forecast);

        await server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin("North Gate", WeatherKind.Forecast, Noon), [.. Enumerable.Range(1, 12).Select(h => new WeatherValues(Noon.AddHours(h)) { AirCelsius = 30 })], Cancel);

        Assert.NotNull((await DayAsync(server)).Coming?.Forecast);
    }

    [Fact]
    public async Task With_the_minute_comes_what_another_program_stored_and_what_is_still_to_come()
    {
        await using var server = await MeasuredAsync();
        var before = await DayAsync(server);
        var path = Path.Combine(server.Folder, "readings.sqlite");
        await using (var other = new SqliteReadingStore(new StoreOptions { Path = path }))
            await other.AppendAsync([new StoredReading(Good(NorthGate, Noon.AddMinutes(-2), 88), Noon)], Cancel);
        server.Time.Advance(TimeSpan.FromMinutes(10));

        var after = await DayAsync(server);

        Assert.Contains(after.Points, p => p.SurfaceCelsius is not null && p.At == Noon && p.SurfaceCelsius != before.Points.Single(b => b.At == Noon && b.SurfaceCelsius is not null).SurfaceCelsius);
        Assert.True(after.Coming!.From > before.Coming!.From);
    }

    [Fact]
    public async Task Each_visitor_sees_their_own_walk_on_the_same_day()
    {
        await using var server = await MeasuredAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            var pickle = new DogRow { Name = "Pickle" };
            db.Dogs.Add(pickle);
            await db.SaveChangesAsync(Cancel);
            db.Walks.Add(new WalkRow
            {
                DogId = pickle.Id,
                WalkerId = await db.People.Where(p => p.UserName == "Ines").Select(p => p.Id).SingleAsync(Cancel),
                Start = Noon.AddHours(1),
                Minutes = 30,
                Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
            });
            await db.SaveChangesAsync(Cancel);
        }

        foreach (var (browser, sees) in new[] { (ines, true), (tobias, false), (ines, true) })
        {
            using var day = JsonDocument.Parse(await browser.GetStringAsync(new Uri("/api/spots/north-gate-plaza/day", UriKind.Relative), Cancel));
            Assert.Equal(sees ? JsonValueKind.Object : JsonValueKind.Null, day.RootElement.GetProperty("walk").ValueKind);
            Assert.Equal(sees, (await browser.GetStringAsync(new Uri("/spots/north-gate-plaza", UriKind.Relative), Cancel)).Contains("Pickle", StringComparison.Ordinal));
        }

        Assert.Null((await DayAsync(server)).Walk);
    }

    [Fact]
    public async Task The_days_that_were_least_lately_asked_for_go_first()
    {
        var cache = new DayCache(2);
        var made = new List<int>();
        async Task AskAsync(int day) => await cache.GetAsync(NorthGate.Id, Today.AddDays(day), Basis(1), () =>
        {
            made.Add(day);
            return Task.FromResult(Of(day));
        });

        foreach (var day in new[] { 1, 2, 1, 3, 1, 2 })
            await AskAsync(day);

        Assert.Equal([1, 2, 3, 2], made);
        Assert.Equal(2, cache.Count);
    }

    [Fact]
    public async Task Of_many_who_ask_at_once_one_makes_it_and_a_failure_is_not_kept()
    {
        var cache = new DayCache();
        var (made, first) = (0, new TaskCompletionSource<SpotDay>());
        Task<SpotDay> AskAsync() => cache.GetAsync(NorthGate.Id, Today, Basis(1), () => ++made == 1 ? first.Task : Task.FromResult(Of(0)));

        var all = Enumerable.Range(0, 5).Select(_ => AskAsync()).ToList();
        Assert.Equal(1, made);
        first.SetException(new ReadingStoreException("the disk cannot be read", null));

        foreach (var one in all)
            await Assert.ThrowsAsync<ReadingStoreException>(() => one);
        Assert.Equal(Today, (await AskAsync()).Day);
        Assert.Equal(2, made);
    }

    private static DayBasis Basis(long readings) => new(NorthGate, 1, readings, 1, null, true, null);

    private static SpotDay Of(int day) => new(NorthGate, Today.AddDays(day), Noon, Noon.AddDays(1), [], []);

    private static async Task<RunningServer> MeasuredAsync()
    {
        var server = await StartAsync();
        await server.MeasureAsync(WatchTests.HotMorning(NorthGate));
        await server.SeenAsync(NorthGate, s => s.MeasuredAt == Noon);
        return server;
    }

    private static async Task<SpotDay> DayAsync(RunningServer server, DateOnly? day = null) =>
        (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, day ?? Today, Cancel))!;

    private static List<double?> Estimates(SpotDay day) => [.. day.Points.Select(p => p.EstimateCelsius)];
}
