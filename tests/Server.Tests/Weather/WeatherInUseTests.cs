using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Weather;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Weather;

/// <summary>What weather from elsewhere changes: fits, today's and tomorrow's curve, warnings.</summary>
public sealed class WeatherInUseTests(ITestOutputHelper output)
{
    private static readonly DateTimeOffset Issue = Noon.AddHours(-1);

    private static readonly DateOnly Tomorrow = new(2026, 7, 15);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_forecast_of_a_hotter_tomorrow_moves_tomorrow_noon_up_and_without_one_today_is_repeated()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(14));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);
        var days = server.Get<ISpotDays>();

        var repeated = (await days.DayAsync(NorthGate.Id, Tomorrow, Cancel))!;
        Assert.Equal(new ComingHours(repeated.From, null, AllForecast: false), repeated.Coming);
        // Every one of the last days reached 54 °C at noon, by definition of the invented ground.
        var without = NoonOf(repeated);
        Assert.InRange(without.EstimateCelsius!.Value, 51, 57);

        await ForecastAsync(server, 48, at => Air(at) + 5 * ((at - Noon).TotalHours / 24));
        var told = (await days.DayAsync(NorthGate.Id, Tomorrow, Cancel))!;

        var with = NoonOf(told);
        output.WriteLine($"tomorrow noon {without.EstimateCelsius:F1} °C by repetition, {with.EstimateCelsius:F1} °C by the forecast of 5 K more");
        // Hotter air makes the surface about as much hotter: at least half, at most twice.
        Assert.InRange(with.EstimateCelsius!.Value - without.EstimateCelsius.Value, 2.5, 10);
        Assert.Equal(
            new ComingHours(told.From, new ForecastUsed(told.From, told.Points[^1].At, Issue, Issue, WithWind: false, WithSun: false), AllForecast: true),
            told.Coming);
        Assert.True(told.Points.Count >= 144);
        // Whose air nobody knows is less sure a day ahead, with a forecast as well as without.
        var now = (await days.DayAsync(NorthGate.Id, Tomorrow.AddDays(-1), Cancel))!.Points.First(p => p.EstimateCelsius is not null && p.At > Noon);
        Assert.True(Width(now) + 2 < Width(with) && Width(now) + 2 < Width(without), $"{Width(now)} {Width(with)} {Width(without)} K");
    }

    [Theory]
    [InlineData(0, AlertState.Clear)]
    [InlineData(8, AlertState.Rising)]
    public async Task A_rise_is_told_of_a_forecast_that_brings_the_ground_to_its_limit(double riseKelvin, AlertState state)
    {
        var evening = Noon.AddHours(10);
        var tender = NorthGate with { LimitCelsius = 36 };
        await using var server = await StartAsync(time: new FakeTimeProvider(evening), spots: [tender]);
        var origin = new WeatherOrigin("", WeatherKind.Forecast, evening);
        // A hot wind comes up within the half hour.
        await server.Get<WeatherStore>().StoreAsync(
            origin, [.. Enumerable.Range(0, 7).Select(i => new WeatherValues(evening.AddMinutes(i * 10)) { AirCelsius = 30 + (i >= 2 ? riseKelvin : 0) })], Cancel);
        await server.MeasureAsync(Enumerable.Range(0, 60).Select(i => Good(tender, evening.AddMinutes(i - 59), 32, 30)));
        // All of them taken: a reading still under way would answer in the next minute in the tick's place.
        await server.SeenAsync(tender, s => s.MeasuredAt == evening && s.State == AlertState.Clear);

        var now = await server.MinuteAsync(tender);

        Assert.Equal(state, now.State);
    }

    [Fact]
    public async Task Where_a_forecast_ends_the_air_repeats_its_last_day_and_the_day_says_so()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(4));
        await ForecastAsync(server, 3, Air);

        var today = (await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Tomorrow.AddDays(-1), Cancel))!;

        Assert.Equal(
            new ComingHours(Noon.AddMinutes(10), new ForecastUsed(Noon.AddMinutes(20), Noon.AddHours(3), Issue, Issue, WithWind: false, WithSun: false), AllForecast: false),
            today.Coming);
        Assert.Equal(new DateTimeOffset(2026, 7, 15, 5, 0, 0, TimeSpan.Zero), today.Points[^1].At);
        Assert.Null((await server.Get<ISpotDays>().DayAsync(NorthGate.Id, Tomorrow.AddDays(-2), Cancel))!.Coming);
    }

    [Fact]
    public async Task A_spot_nobody_measures_is_estimated_from_a_stations_air_and_a_forecast()
    {
        await using var server = await StartAsync(spots: [QuarrySteps]);
        var origin = new WeatherOrigin("Quarry", WeatherKind.Observed, Noon);
        await server.Get<WeatherStore>().StoreAsync(
            origin, [.. Enumerable.Range(-72, 73).Select(h => new WeatherValues(Noon.AddHours(h)) { AirCelsius = Air(Noon.AddHours(h)) })], Cancel);
        await ForecastAsync(server, 24, Air);

        server.Time.Advance(TimeSpan.FromMinutes(1));
        var now = await server.SeenAsync(QuarrySteps, s => s.Estimated);
        var today = (await server.Get<ISpotDays>().DayAsync(QuarrySteps.Id, Tomorrow.AddDays(-1), Cancel))!;

        Assert.Equal(Air(Noon), now.AirCelsius!.Value, 0.1);
        // Pale concrete in the sun is hotter than the air by the handbook, and no oven.
        Assert.InRange(now.SurfaceCelsius!.Value, Air(Noon) + 3, Air(Noon) + 30);
        Assert.True(today.Coming!.AllForecast);
    }

    [Fact]
    public async Task Wind_and_sun_are_learnt_from_only_where_they_were_there_nine_times_in_ten()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(10));
        await StationAsync(server, wind: 10, sun: 8);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);

        var fit = server.Get<FitStore>().InUse(NorthGate.Id)!;

        Assert.Equal([OffsetInputs.Humidity | OffsetInputs.Wind, OffsetInputs.Humidity, OffsetInputs.AirOnly], fit.Parts.Select(p => p.Inputs));
    }

    [Fact]
    public async Task An_estimate_uses_wind_and_sun_only_where_the_moment_itself_has_them()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(10));
        await StationAsync(server, wind: 10, sun: 10);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);
        var book = server.Get<WeatherStore>();
        var origin = new WeatherOrigin("", WeatherKind.Forecast, Noon);
        // Wind and sun for six hours, then air alone.
        await book.StoreAsync(
            origin,
            [.. Enumerable.Range(1, 30).Select(h => new WeatherValues(Noon.AddHours(h))
            {
                AirCelsius = Air(Noon.AddHours(h)),
                WindMetersPerSecond = h <= 6 ? 2 : null,
                SolarWattsPerSquareMeter = h <= 6 ? Sky(Noon.AddHours(h)) : null,
            })],
            Cancel);
        var fit = server.Get<FitStore>().InUse(NorthGate.Id)!;
        var weather = await server.Get<SiteWeather>().LoadAheadAsync(NorthGate, Noon.AddDays(-3), Noon, Noon.AddHours(30), Cancel);

        var inputs = SpotEstimation.At(fit, NorthGate, weather, [Noon, Noon.AddHours(5), Noon.AddHours(12)]);

        const OffsetInputs both = OffsetInputs.Wind | OffsetInputs.Solar;
        Assert.Equal([both, both, OffsetInputs.AirOnly], inputs.Select(i => i.Inputs));
        Assert.Equal([AirOrigin.Measured, AirOrigin.Forecast, AirOrigin.Forecast],
            new[] { Noon, Noon.AddHours(5), Noon.AddHours(12) }.Select(weather.OriginAt));
    }

    [Theory]
    [InlineData(4, 0, "14:00")]
    [InlineData(4, 2, "14:00")]
    [InlineData(1, 0, "17:00")] // Nothing at noon is no sky's.
    [InlineData(1, 2, null)] // An hour may be as dark; it is not told yet.
    public async Task A_sun_sensor_that_is_out_makes_no_silent_ground_cool_and_the_business_is_told(int hours, double watts, string? since)
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        // The probe of the surface is silent for the last hour; the air is measured on.
        await server.MeasureAsync(Days(10).Select(r => r.MeasuredAt <= Noon.AddHours(-1) ? r : r with { SurfaceCelsius = null }));
        await StationAsync(server, wind: 0, sun: 10);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);
        var before = await NowAsync();

        await server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin("", WeatherKind.Observed, Noon), [.. Enumerable.Range(1 - hours, hours).Select(h => new WeatherValues(Noon.AddHours(h)) { SolarWattsPerSquareMeter = watts })], Cancel);
        var after = await NowAsync();
        server.Get<SunFaults>().Look();

        output.WriteLine($"{before.Inputs}: {before.Value.SurfaceCelsius:F1} °C, with {hours} h of {watts} W/m² {after.Inputs}: {after.Value.SurfaceCelsius:F1} °C");
        Assert.True(before.Inputs.HasFlag(OffsetInputs.Solar));
        Assert.Equal(since is null, after.Inputs.HasFlag(OffsetInputs.Solar));
        var faults = server.Get<ServiceFaults>().Standing.Where(f => f.Key.StartsWith("sun.", StringComparison.Ordinal));
        if (since is null)
        {
            Assert.Empty(faults);
            return;
        }

        // The invented ground has 54 °C at noon, by definition.
        Assert.InRange(after.Value.SurfaceCelsius, 50, 58);
        Assert.Equal(
            ("sun.station.", $"weather station of the business: measures no sun since 2026-07-14T{since}Z, by day: look at its sensor and cable, and at the times it gives; estimates do without its sun meanwhile", false),
            Assert.Single(faults) is var fault ? (fault.Key, fault.Words, fault.FailsHealth) : default);

        // Mended, it is believed with its first row.
        await server.Get<WeatherStore>().StoreAsync(new WeatherOrigin("", WeatherKind.Observed, Noon), [new WeatherValues(Noon.AddMinutes(10)) { SolarWattsPerSquareMeter = 890 }], Cancel);
        server.Get<SunFaults>().Look();
        Assert.DoesNotContain(server.Get<ServiceFaults>().Standing, f => f.Key.StartsWith("sun.", StringComparison.Ordinal));

        async Task<InformedEstimate> NowAsync() => SpotEstimation.At(
            server.Get<FitStore>().InUse(NorthGate.Id)!, NorthGate,
            await server.Get<SiteWeather>().LoadAheadAsync(NorthGate, Noon.AddDays(-3), Noon, Noon, Cancel), [Noon]).Single();
    }

    [Fact]
    public async Task A_forecast_that_writes_zeros_for_sun_is_taken_as_one_without_sun()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        await server.MeasureAsync(Days(10));
        await StationAsync(server, wind: 0, sun: 10);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.Get<FitRunner>().RunAsync(NorthGate, null, Cancel);
        await server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin("", WeatherKind.Forecast, Noon),
            [.. Enumerable.Range(1, 30).Select(h => new WeatherValues(Noon.AddHours(h)) { AirCelsius = Air(Noon.AddHours(h)), SolarWattsPerSquareMeter = 0 })], Cancel);
        var weather = await server.Get<SiteWeather>().LoadAheadAsync(NorthGate, Noon.AddDays(-3), Noon, Noon.AddHours(30), Cancel);

        var ahead = SpotEstimation.At(server.Get<FitStore>().InUse(NorthGate.Id)!, NorthGate, weather, [Noon, Noon.AddHours(4)]).ToList();
        server.Get<SunFaults>().Look();

        Assert.Equal([true, false], ahead.Select(e => e.Inputs.HasFlag(OffsetInputs.Solar)));
        // 39 °C four hours after noon, by definition of the invented ground.
        Assert.InRange(ahead[1].Value.SurfaceCelsius, 34, 46);
        Assert.Contains("weather forecast of the business: has no sun up to 2026-07-15T", Assert.Single(server.Get<ServiceFaults>().Standing, f => f.Key == "sun.forecast.").Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Measured_grass_is_better_explained_with_the_stations_wind_and_sun_than_without()
    {
        var file = SharedData.RequireFile("bondville-1998-half-hourly.csv");
        var folder = Directory.CreateTempSubdirectory("pw-bondville-").FullName;
        var data = $"--Data:Folder={folder}";
        await RunAsync("spot", "add", "bondville", "--name", "Bondville", "--surface", "grass", "--latitude", "40.01", "--longitude", "-88.37", "--time-zone", "America/Chicago", data);
        await RunAsync("import", "readings", file, "--spot", "bondville", data);
        await using (var server = await StartAsync(folder, new FakeTimeProvider(new DateTimeOffset(1998, 7, 15, 6, 0, 0, TimeSpan.Zero)), spots: []))
        {
            var spot = server.Get<SpotCatalogue>().Find(SpotId.Parse("bondville"))!;
            server.Time.Advance(TimeSpan.FromMinutes(1));
            var without = Assert.Single(await server.Get<FitRunner>().RunAsync(spot, null, Cancel));
            await RunAsync("import", "weather", file, data);
            server.Time.Advance(TimeSpan.FromMinutes(1));
            var with = Assert.Single(await server.Get<FitRunner>().RunAsync(spot, null, Cancel));

            output.WriteLine($"residual scale {without.Fit.ResidualScaleKelvin:F3} K with {without.Fit.Parts[0].Inputs}, {with.Fit.ResidualScaleKelvin:F3} K with {with.Fit.Parts[0].Inputs}: {with.Standing}, {with.Judgement}");
            Assert.Equal(OffsetInputs.Humidity, without.Fit.Parts[0].Inputs);
            Assert.Equal(OffsetInputs.All, with.Fit.Parts[0].Inputs);
            Assert.Equal(without.Fit.SampleCount, with.Fit.SampleCount);
            Assert.True(with.Fit.ResidualScaleKelvin < without.Fit.ResidualScaleKelvin);
            Assert.Equal(FitStanding.InUse, with.Standing);
        }

        SqliteConnection.ClearAllPools();
        Directory.Delete(folder, recursive: true);
    }

    private static double Width(DayPoint point) => point.UpperCelsius!.Value - point.LowerCelsius!.Value;

    private static DayPoint NoonOf(SpotDay day) => day.Points.Single(p => p.At == Noon.AddDays(1));

    private static double Sun(DateTimeOffset at) => 900 * Math.Max(0, Math.Cos((at - Noon).TotalDays * 2 * Math.PI));

    /// <summary>As a station gives it: the invented sun sets before Ferngate's, whose sky is never as dark by day.</summary>
    private static double Sky(DateTimeOffset at) => Math.Max(
        Sun(at), 0.1 * ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(at.AddMinutes(-30), NorthGate.LatitudeDegrees, NorthGate.LongitudeDegrees).ElevationDegrees));

    private static double Air(DateTimeOffset at) => 22 + 14 * Sun(at) / 900;

    /// <summary>The last days up to now, a reading each ten minutes.</summary>
    private static IEnumerable<Reading> Days(int days) => Enumerable.Range(1, days * 144).Select(i =>
    {
        var at = Noon - TimeSpan.FromMinutes(((days * 144) - i) * 10);
        return Good(NorthGate, at, 24 + 30 * Sun(at) / 900, Air(at));
    });

    private static Task<WeatherStored> ForecastAsync(RunningServer server, int hours, Func<DateTimeOffset, double> air) =>
        server.Get<WeatherStore>().StoreAsync(
            new WeatherOrigin("", WeatherKind.Forecast, Issue),
            [.. Enumerable.Range(0, hours + 1).Select(h => new WeatherValues(Noon.AddHours(h)) { AirCelsius = air(Noon.AddHours(h)) })],
            Cancel);

    /// <summary>A station's hours up to now, for so many last days.</summary>
    private static async Task StationAsync(RunningServer server, int wind, int sun)
    {
        var rows = Enumerable.Range(-240, 241).Select(h => new WeatherValues(Noon.AddHours(h))
        {
            WindMetersPerSecond = h >= -24 * wind ? 1 + (h % 5 + 5) % 5 * 0.5 : null,
            SolarWattsPerSquareMeter = h >= -24 * sun ? Sky(Noon.AddHours(h)) : null,
        });
        await server.Get<WeatherStore>().StoreAsync(new WeatherOrigin("", WeatherKind.Observed, Noon), [.. rows.Where(r => !r.IsEmpty)], Cancel);
    }

    private static async Task RunAsync(params string[] args)
    {
        using var said = new StringWriter();
        Assert.True(await CommandLine.RunAsync(args, said, said) == CommandLine.Done, said.ToString());
    }
}
