using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>What sun and air look like from a step back: the response of each to something simple is known without the code.</summary>
public sealed class SkyAndAirTests
{
    private const string StepResponse = "Step response of a first-order lag: 1 − 1/e of the way after one time constant";

    private static readonly Spot Plaza = new(SpotId.Parse("plaza"), "Plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
    private static readonly DateTimeOffset Start = new(2026, 7, 14, 6, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Lagged_air_has_come_two_thirds_of_the_way_after_its_time_constant()
    {
        // 10 °C for a day, then 20 °C for two weeks.
        var sky = Look(15, hour => hour <= 24 ? 10 : 20);
        for (var lag = 0; lag < SkyAndAir.AirLags.Length; lag++)
        {
            Assert.Equal(10, sky.LaggedAir[lag][At(24)], 9);
            Published.Near(10 + (10 * 0.6321206), sky.LaggedAir[lag][At(24 + SkyAndAir.AirLags[lag])], 1e-5, StepResponse);
        }

        Assert.Equal([3, 12, 48, 168], SkyAndAir.AirLags);
    }

    [Fact]
    public void Humidity_is_nothing_at_five_eighths_and_one_at_seven_eighths()
    {
        Assert.All(Look(2, _ => 20, humidity: 62.5).Humidity, h => Assert.Equal(0, h, 9));
        var moist = Look(2, _ => 20, humidity: 87.5);
        Assert.All(moist.Humidity, h => Assert.Equal(1, h, 9));
        Assert.All(moist.LaggedHumidity, lag => Assert.All(lag, h => Assert.Equal(1, h, 9)));
    }

    [Fact]
    public void Changes_are_how_much_warmer_the_air_is_than_one_and_three_hours_before()
    {
        // Half a kelvin an hour.
        var sky = Look(2, hour => 10 + (0.5 * hour));
        Assert.Equal(0.5, sky.HourChange[At(24)], 9);
        Assert.Equal(1.5, sky.ThreeHourChange[At(24)], 9);
        // Before there is anything to compare with, nothing has changed.
        Assert.Equal((0, 0), (sky.HourChange[1], sky.ThreeHourChange[5]));
    }

    [Fact]
    public void Restless_air_goes_further_than_it_comes()
    {
        // Up and down by 2 K each half-hour: 12 K of way in three hours, and back where it was.
        Assert.Equal(6, Look(2, hour => 20 + (2 * (hour * 2 % 2))).Restlessness[At(24)], 9);
        // As far as it comes: not restless, however fast.
        Assert.Equal(0, Look(2, hour => 10 + (4 * hour)).Restlessness[At(24)], 9);
        // Three hours at 3 K an hour with one step a kelvin back: 11 K of way, 9 K of it on.
        Assert.Equal(1, Look(2, hour => 10 + (3 * hour) - (hour == 23 ? 2.5 : 0)).Restlessness[At(24)], 9);
    }

    [Fact]
    public void The_nights_least_is_remembered_for_fourteen_hours()
    {
        var sky = Look(3, hour => hour == 30 ? 8 : 20);
        Assert.Equal(20, sky.LeastOfNight[At(29.5)]);
        Assert.Equal(8, sky.LeastOfNight[At(30)]);
        Assert.Equal(8, sky.LeastOfNight[At(43.5)]);
        Assert.Equal(20, sky.LeastOfNight[At(44)]);
    }

    [Theory]
    //          of the clear sky's sun, clearness
    [InlineData(1, 1)]
    [InlineData(2.0 / 3, 0)]
    [InlineData(1.0 / 3, -1)]
    public void Clearness_is_measured_over_clear_sun(double share, double clearness)
    {
        var clear = Grid(3, _ => 20, 50, null).Clear;
        var sky = Look(3, _ => 20, solar: i => share * clear[i]);
        // At noon of the third day, whichever its memory.
        Assert.All(sky.Clearness, lag => Assert.Equal(clearness, lag[At(60)], 6));
        // What is lagged of both is in the same proportion.
        Assert.All(sky.SolarLags.Zip(sky.ClearLags), pair => Assert.Equal(share * pair.Second[At(60)], pair.First[At(60)], 6));
    }

    [Fact]
    public void The_sun_of_the_day_comes_later_the_longer_it_is_kept()
    {
        var sky = Look(4, _ => 20);
        var clear = sky.Grid.Clear;
        int PeakOf(double[] values) => Array.IndexOf(values, values[At(72)..].Max());
        int[] peaks = [PeakOf(clear), .. sky.ClearLags.Select(PeakOf)];
        Assert.Equal(peaks.Order(), peaks);
        // Nine hours' memory: hours later, and not half a day.
        Assert.InRange(peaks[^1] - peaks[0], 4, 12);
        // Each is a mean of what was: none is ever above the sun itself at its highest.
        Assert.All(sky.ClearLags, lag => Assert.InRange(lag.Max(), 0, clear.Max()));
    }

    [Fact]
    public void Weather_that_begins_where_other_weather_was_left_goes_on_as_if_it_had_been_one()
    {
        static double Air(double hour) => 15 + (0.05 * hour) + (6 * Math.Sin(hour / 24 * 2 * Math.PI));
        var whole = Look(10, Air, solar: i => 10 * (i % 48));
        var left = whole.StateAt(At(192));
        var rest = new SkyAndAir(
            Grid(2, hour => Air(hour + 192), 50, i => 10 * ((i + At(192) + 1) % 48), Start.AddHours(192)), SurfaceKind.Asphalt, left);

        Assert.Equal(Start.AddHours(192), left.At);
        for (var i = 0; i < rest.Grid.Count; i++)
        {
            var same = At(192) + 1 + i;
            foreach (var (a, b) in whole.LaggedAir.Zip(rest.LaggedAir).Concat(whole.ClearLags.Zip(rest.ClearLags)).Concat(whole.SolarLags.Zip(rest.SolarLags)).Concat(whole.Clearness.Zip(rest.Clearness)))
                Assert.Equal(a[same], b[i], 9);
        }

        // Without it, a fit that remembers a week would begin in another one.
        var afresh = new SkyAndAir(rest.Grid, SurfaceKind.Asphalt, null);
        Assert.True(Math.Abs(afresh.LaggedAir[3][0] - rest.LaggedAir[3][0]) > 0.05);
    }

    [Theory]
    [InlineData(OffsetInputs.AirOnly, 0, 0)]
    [InlineData(OffsetInputs.Humidity, 3, 0)]
    [InlineData(OffsetInputs.Solar, 0, 3)]
    [InlineData(OffsetInputs.All, 3, 3)]
    public void What_is_not_looked_at_is_not_made_and_the_rest_is_the_same(OffsetInputs inputs, int humidities, int clearnesses)
    {
        var grid = Grid(3, hour => 15 + (6 * Math.Sin(hour / 24 * 2 * Math.PI)), 50, i => 10 * (i % 48));
        // Seeds for all that is lagged, in its order.
        var start = new LagState(Start, [.. Enumerable.Range(1, 21).Select(i => (double?)i)]);
        var (all, some) = (new SkyAndAir(grid, SurfaceKind.Asphalt, start), new SkyAndAir(grid, SurfaceKind.Asphalt, start, inputs));

        Assert.Equal(all.ClearLags, some.ClearLags);
        Assert.Equal(all.LaggedAir, some.LaggedAir);
        Assert.Equal((humidities, clearnesses), (some.LaggedHumidity.Length, some.Clearness.Length));
        Assert.Equal(all.LaggedHumidity.Take(humidities), some.LaggedHumidity);
        Assert.Equal(all.SolarLags.Take(clearnesses > 0 ? 4 : 0), some.SolarLags);
        Assert.Equal(all.Clearness.Take(clearnesses), some.Clearness);
    }

    /// <summary>Index of the half-hour that ends so many hours after the start.</summary>
    private static int At(double hours) => (int)(2 * hours) - 1;

    private static SkyAndAir Look(int days, Func<double, double> air, double humidity = 50, Func<int, double>? solar = null) =>
        new(Grid(days, air, humidity, solar), SurfaceKind.Asphalt, null);

    private static WeatherGrid Grid(int days, Func<double, double> air, double humidity, Func<int, double>? solar, DateTimeOffset? start = null)
    {
        WeatherSample[] samples =
        [
            .. Enumerable.Range(0, 48 * days).Select(i => new WeatherSample((start ?? Start).AddMinutes(30 * (i + 1)), air((i + 1) / 2.0))
            {
                HumidityPercent = humidity,
                SolarWattsPerSquareMeter = solar?.Invoke(i),
            }),
        ];
        return WeatherGrid.Make(Plaza, new WeatherStretch(samples, 0, samples.Length), 30, samples[^1].At);
    }
}
