using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Weather;

/// <summary>Weather on steps, by hand and by what is published of sun and vapour.</summary>
public sealed class WeatherGridTests
{
    private static readonly Spot Plaza = new(SpotId.Parse("plaza"), "Plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 18, 0, 0, TimeSpan.Zero);

    [Fact]
    public void A_step_is_the_mean_of_the_samples_that_end_in_it_and_its_end_belongs_to_it()
    {
        var grid = Make(
            30,
            Noon.AddHours(1),
            At(1, 20, wind: 1),
            At(20, 22, surface: 40),
            At(30, 27, wind: 4, surface: 44),
            At(30.5, 50));

        Assert.Equal(Noon.AddMinutes(30), grid.EndOf(0));
        Assert.Equal(2, grid.Count);
        Assert.Equal([23, 50], grid.Air);
        Assert.Equal(2.5, grid.Wind[0]);
        Assert.Equal(42, grid.Surface[0]);
        Assert.Equal(double.NaN, grid.Surface[1]);
        Assert.Equal(1, grid.LastSampled);
    }

    [Fact]
    public void Humidity_is_kept_as_vapour()
    {
        var grid = Make(30, Noon, At(-10, 20, humidity: 50), At(0, 30, humidity: 25));
        // Half of 2.338 kPa and a quarter of 4.243 kPa.
        Published.Near((1.169 + 1.06075) / 2, grid.Vapour[0], 0.005, "FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), annex 2, table 2.3; from memory");
    }

    [Fact]
    public void A_number_that_is_none_is_no_part_of_a_mean()
    {
        var grid = Make(30, Noon, At(-10, 20, surface: double.NaN), At(0, 22, surface: 40));
        Assert.Equal(40, grid.Surface[0]);
    }

    [Fact]
    public void A_gap_is_filled_with_what_was_before_it_air_for_two_hours_wind_and_sun_for_one_the_surface_not_at_all()
    {
        // A day before, so that longer gaps of the air have something to repeat; then three hours of nothing.
        var grid = Make(
            30,
            Noon.AddHours(3.5),
            [.. Enumerable.Range(-47, 48).Select(i => At(30 * i, i == 0 ? 30 : 20, humidity: 40, wind: 3, solar: 500, surface: 45)), At(210, 31, wind: 1, solar: 100, surface: 50)]);
        var last = Array.LastIndexOf(grid.Air, 31);

        Assert.Equal(7, last - Index(grid, Noon));
        double[] Gap(double[] column) => column[(Index(grid, Noon) + 1)..last];
        // Six empty steps. Past two hours: the day before moved by what today differs, 20 + 10 · exp(−hours / 12), see below.
        Assert.Equal([30, 30, 30, 30], Gap(grid.Air)[..4]);
        Assert.Equal(29.5919, Gap(grid.Air)[4], 4);
        Assert.Equal(29.2004, Gap(grid.Air)[5], 4);
        Assert.Equal([3, 3, double.NaN, double.NaN, double.NaN, double.NaN], Gap(grid.Wind));
        Assert.Equal([500, 500, double.NaN, double.NaN, double.NaN, double.NaN], Gap(grid.Solar));
        Assert.All(Gap(grid.Surface), surface => Assert.Equal(double.NaN, surface));
        Assert.Equal(1, grid.Wind[last]);
    }

    [Fact]
    public void After_the_last_sample_the_air_repeats_its_day_and_what_today_differs_fades_in_half_a_day()
    {
        // 20 °C all day, then 24 °C all day.
        var grid = Make(
            60, Noon.AddDays(2).AddHours(36), [.. Enumerable.Range(1, 48).Select(h => At(60 * h, h <= 24 ? 20 : 24, humidity: 50))]);

        Assert.Equal(Index(grid, Noon.AddDays(2)), grid.LastSampled);
        const string byHand = "24 + 4 · exp(−hours / 12), by hand";
        Published.Near(27.68018, grid.Air[Index(grid, Noon.AddDays(2).AddHours(1))], 1e-5, byHand);
        Published.Near(25.47152, grid.Air[Index(grid, Noon.AddDays(2).AddHours(12))], 1e-5, byHand);
        // A day and a half ahead it is still the last measured day that is repeated.
        Published.Near(24.19915, grid.Air[Index(grid, Noon.AddDays(2).AddHours(36))], 1e-5, byHand);
        // The vapour stays; wind, sun and surface are not guessed.
        Assert.Equal(grid.Vapour[grid.LastSampled], grid.Vapour[^1]);
        Assert.Equal((double.NaN, double.NaN, double.NaN), (grid.Wind[^1], grid.Solar[^1], grid.Surface[^1]));
    }

    [Fact]
    public void A_night_ahead_holds_no_more_vapour_than_its_air_can()
    {
        // 10 °C by night and 30 °C by day; at the end of a day that is nearly saturated the night before comes again.
        var grid = Make(60, Noon.AddDays(1).AddHours(11), [.. Enumerable.Range(1, 24).Select(h => At(60 * h, h < 12 ? 10 : 30, humidity: 90))]);
        Assert.All(
            Enumerable.Range(grid.LastSampled, 12),
            i => Assert.True(grid.Vapour[i] <= VapourPressure.SaturationKilopascals(grid.Air[i]) + 1e-12, $"step {i}"));
        Assert.True(grid.Vapour[^1] < grid.Vapour[grid.LastSampled]);
    }

    [Fact]
    public void A_step_knows_nothing_of_the_steps_after_it()
    {
        WeatherSample[] known = [.. Enumerable.Range(1, 40).Select(h => At(60 * h, 20 + (h % 5), humidity: 50, wind: 2, solar: 300, surface: 30))];
        var alone = Make(60, Noon.AddHours(40), known);
        var longer = Make(60, Noon.AddHours(50), [.. known, .. Enumerable.Range(41, 10).Select(h => At(60 * h, 5, humidity: 10, wind: 9, solar: 900, surface: 60))]);
        foreach (var column in new Func<WeatherGrid, double[]>[] { g => g.Air, g => g.Vapour, g => g.Wind, g => g.Solar, g => g.Surface, g => g.Clear })
            Assert.Equal(column(alone), column(longer)[..40]);
    }

    [Fact]
    public void The_sun_is_that_of_the_middle_of_the_step()
    {
        // The minute around 12:30:30 in Golden, Colorado, of the published example.
        var golden = Plaza with { LatitudeDegrees = 39.742476, LongitudeDegrees = -105.1786 };
        var grid = WeatherGrid.Make(golden, new WeatherStretch([], 0, 0), 1, new DateTimeOffset(2003, 10, 17, 19, 31, 0, TimeSpan.Zero));

        const string spa = "Reda and Andreas 2008, NREL/TP-560-34302, table A5.1";
        Assert.Equal(1, grid.Count);
        Published.Near(39.872046, grid.Elevation[0], 0.001, spa);
        Published.Near(12 + (11.10590 / 15), grid.SolarHour[0], 0.0002, spa + ", hour angle over 15°/h from noon");
        // 1098 · cos 50.127954° · exp(−0.059 / cos 50.127954°), by hand.
        Published.Near(642.01, grid.Clear[0], 0.05, "Haurwitz, J. Meteorol. 2 (1945) 154");
    }

    [Theory]
    //          minutes between, minutes of a step
    [InlineData(1, 30)]
    [InlineData(30, 30)]
    [InlineData(60, 60)]
    public void Hourly_samples_stand_on_hours_and_shorter_ones_on_half_hours(int spacing, int step)
    {
        WeatherSample[] samples = [.. Enumerable.Range(0, 50).Select(i => At(spacing * i, 20))];
        Assert.Equal(step, WeatherGrid.StepFor(new WeatherStretch(samples, 0, samples.Length)));
    }

    private static int Index(WeatherGrid grid, DateTimeOffset end) => (int)((end.UtcTicks - grid.FirstEndTicks) / grid.StepTicks);

    private static WeatherGrid Make(int stepMinutes, DateTimeOffset until, params WeatherSample[] samples) =>
        WeatherGrid.Make(Plaza, new WeatherStretch(samples, 0, samples.Length), stepMinutes, until);

    private static WeatherSample At(
        double minutes, double air, double? humidity = null, double? wind = null, double? solar = null, double? surface = null) =>
        new(Noon.AddMinutes(minutes), air)
        {
            HumidityPercent = humidity,
            WindMetersPerSecond = wind,
            SolarWattsPerSquareMeter = solar,
            SurfaceCelsius = surface,
        };
}
