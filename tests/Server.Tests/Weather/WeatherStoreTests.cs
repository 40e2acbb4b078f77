using System.Collections.Concurrent;
using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Server.Database;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Weather;

/// <summary>What is kept, what takes whose place, what goes: in a real SQLite file.</summary>
public sealed class WeatherStoreTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_newer_issue_takes_an_older_ones_place_and_an_older_one_changes_nothing()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        var (old, newer) = (Forecast("", -6), Forecast("", -1));
        Assert.Equal(new WeatherStored(3, 3, 0, 0), await book.StoreAsync(old, Hours(30, 31, 32), Cancel));
        Assert.Equal(new WeatherStored(2, 0, 2, 0), await book.StoreAsync(newer, Hours(33, 34), Cancel));
        Assert.Equal(new WeatherStored(3, 0, 0, 3), await book.StoreAsync(old, Hours(30, 31, 32), Cancel));

        var known = await book.LoadAsync("North Gate", Noon, Noon.AddHours(5), Cancel);

        Assert.Equal([33.0, 34.0, 32.0], Enumerable.Range(1, 3).Select(h => known.Forecast.Air.Between(Noon.AddHours(h))!.Value));
        Assert.Equal([newer.IssuedAt, newer.IssuedAt, old.IssuedAt], known.Issues.Select(i => i.IssuedAt));
        Assert.Equal(33, book.Recent("Quarry").Forecast.Air.Between(Noon.AddHours(1)));
    }

    [Fact]
    public async Task What_was_observed_is_completed_column_by_column()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        var origin = new WeatherOrigin("", WeatherKind.Observed, Noon);
        await book.StoreAsync(origin, [new WeatherValues(Noon) { AirCelsius = 30, WindMetersPerSecond = 2 }], Cancel);

        Assert.Equal(new WeatherStored(1, 0, 1, 0), await book.StoreAsync(origin, [new WeatherValues(Noon) { SolarWattsPerSquareMeter = 800, WindMetersPerSecond = 3 }], Cancel));

        var known = (await book.LoadAsync("", Noon, Noon, Cancel)).Observed;
        Assert.Equal((30, 3, 800), (known.Air.Between(Noon), known.Wind.Over(Noon), known.Solar.Over(Noon)));
        Assert.Null(known.Humidity.Span);
    }

    [Fact]
    public async Task A_sites_own_rows_speak_before_the_businesss_quantity_by_quantity()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        await book.StoreAsync(new WeatherOrigin("", WeatherKind.Observed, Noon), [new WeatherValues(Noon) { AirCelsius = 30, WindMetersPerSecond = 2 }], Cancel);
        await book.StoreAsync(new WeatherOrigin("Quarry", WeatherKind.Observed, Noon), [new WeatherValues(Noon) { WindMetersPerSecond = 7 }], Cancel);

        var (quarry, gate) = ((await book.LoadAsync("Quarry", Noon, Noon, Cancel)).Observed, book.Recent("North Gate").Observed);

        Assert.Equal((30, 7), (quarry.Air.Between(Noon), quarry.Wind.Over(Noon)));
        Assert.Equal((30, 2), (gate.Air.Between(Noon), gate.Wind.Over(Noon)));
    }

    [Fact]
    public async Task Between_rows_air_goes_in_proportion_wind_and_sun_are_the_intervals_and_long_gaps_say_nothing()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        WeatherValues Row(int hour, double value) => new(Noon.AddHours(hour)) { AirCelsius = value, WindMetersPerSecond = value };
        await book.StoreAsync(Forecast("", 0), [Row(0, 20), Row(1, 26), Row(8, 30)], Cancel);

        var known = (await book.LoadAsync("", Noon, Noon.AddHours(10), Cancel)).Forecast;

        // By definition: half an hour after 20 and half an hour before 26 lies 23; the mean up to 13:00 is that of 12:30 too.
        Assert.Equal((23, 26), (known.Air.Between(Noon.AddMinutes(30)), known.Wind.Over(Noon.AddMinutes(30))));
        Assert.Equal((20, 20), (known.Air.Between(Noon), known.Wind.Over(Noon)));
        Assert.Equal((null, null), (known.Air.Between(Noon.AddHours(4)), known.Wind.Over(Noon.AddHours(4))));
        Assert.Equal((30, 30), (known.Air.Between(Noon.AddHours(8)), known.Wind.Over(Noon.AddHours(8))));
        Assert.Equal((null, null), (known.Air.Between(Noon.AddHours(9)), known.Wind.Over(Noon.AddHours(9))));
    }

    [Fact]
    public async Task Forecasts_go_two_days_after_their_time_and_what_was_observed_when_it_is_kept_no_longer()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        await book.StoreAsync(Forecast("", -72), [.. Days(-3, -1, 1)], Cancel);
        await book.StoreAsync(new WeatherOrigin("", WeatherKind.Observed, Noon), [.. Days(-11, -9, -1)], Cancel);

        Assert.Equal(2, await book.PruneAsync(TimeSpan.FromDays(10), Cancel));

        var left = await book.LoadAsync("", Noon.AddDays(-20), Noon.AddDays(20), Cancel);
        Assert.Equal((Noon.AddDays(-1), Noon.AddDays(1)), left.Forecast.Air.Span);
        Assert.Equal((Noon.AddDays(-9), Noon.AddDays(-1)), left.Observed.Air.Span);
    }

    [Fact]
    public async Task A_running_server_takes_over_what_another_process_wrote()
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        await book.RefreshAsync(Cancel);
        using var other = new WeatherStore(server.Get<IDbContextFactory<RegistryDb>>(), server.Get<SpotCatalogue>(), server.Time);
        await other.StoreAsync(Forecast("Quarry", 0), Hours(41), Cancel);
        Assert.True(book.Recent("Quarry").IsEmpty);

        await book.RefreshAsync(Cancel);

        Assert.Equal(41, book.Recent("Quarry").Forecast.Air.Between(Noon.AddHours(1)));
        Assert.True(book.Recent("North Gate").IsEmpty);
    }

    [Theory]
    [InlineData(0, "in the same millisecond")]
    [InlineData(-120, "by a clock that is two hours behind")]
    [InlineData(1, "a minute later")]
    public async Task A_running_server_sees_what_is_changed_after_its_last_look(int minutes, string when)
    {
        await using var server = await StartAsync();
        var book = server.Get<WeatherStore>();
        await book.StoreAsync(Forecast("Quarry", -3), Hours(30), Cancel);
        using var other = new WeatherStore(server.Get<IDbContextFactory<RegistryDb>>(), server.Get<SpotCatalogue>(), new FakeTimeProvider(Noon.AddMinutes(minutes)));
        await other.StoreAsync(Forecast("Quarry", -2), Hours(41), Cancel);

        await book.RefreshAsync(Cancel);

        Assert.True(book.Recent("Quarry").Forecast.Air.Between(Noon.AddHours(1)) == 41, when);
    }

    [Fact]
    public async Task Looking_for_what_is_new_counts_no_rows()
    {
        var asked = new Asked();
        await using var server = await StartAsync(services: s => s.ConfigureDbContext<RegistryDb>(options => options.AddInterceptors(asked)));
        var book = server.Get<WeatherStore>();
        await book.StoreAsync(Forecast("Quarry", 0), Hours(30, 31), Cancel);
        asked.Questions.Clear();

        await book.RefreshAsync(Cancel);

        Assert.DoesNotContain(asked.Questions, q => q.Contains("\"Weather\"", StringComparison.Ordinal) && q.Contains("COUNT", StringComparison.Ordinal));
        // One row by its index.
        Assert.Contains(asked.Questions, q => q.Contains("MAX(\"w\".\"StoredAt\")", StringComparison.Ordinal));
    }

    private static WeatherOrigin Forecast(string site, int hours) => new(site, WeatherKind.Forecast, Noon.AddHours(hours));

    /// <summary>Air of the hours after noon.</summary>
    private static WeatherValues[] Hours(params double[] air) =>
        [.. air.Select((a, i) => new WeatherValues(Noon.AddHours(i + 1)) { AirCelsius = a })];

    private static IEnumerable<WeatherValues> Days(params int[] days) =>
        days.Select(d => new WeatherValues(Noon.AddDays(d)) { AirCelsius = 20 });

    private sealed class Asked : DbCommandInterceptor
    {
        public ConcurrentQueue<string> Questions { get; } = [];

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            Questions.Enqueue(command.CommandText);
            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }
}
