using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>How large errors are at each solar hour: examples worked by hand, beside each its reckoning.</summary>
public sealed class ErrorScaleTests
{
    private const string Geary = "Geary, Biometrika 27 (1935) 310: the mean absolute error of normal errors is their standard deviation times √(2/π)";

    // On the equator at Greenwich the sun's time is the clock's on this day to 20 s, so that two half-hours lie in each hour.
    private static readonly WeatherGrid Day = WeatherGrid.Make(
        new Spot(SpotId.Parse("null-island"), "Null Island", SurfaceKind.Asphalt, 0, 0, "UTC"),
        new WeatherStretch([new WeatherSample(new DateTimeOffset(2026, 6, 13, 0, 30, 0, TimeSpan.Zero), 25)], 0, 1),
        30,
        new DateTimeOffset(2026, 6, 14, 0, 0, 0, TimeSpan.Zero));

    [Fact]
    public void Before_anything_is_known_each_hour_has_the_standard_deviation_of_the_mean_error_it_was_given()
    {
        var scale = new ErrorScale(2, 2);
        Assert.All(scale.SigmaKelvin, sigma => Published.Near(2 * Math.Sqrt(Math.PI / 2), sigma, 1e-4, Geary));
    }

    [Fact]
    public void Noon_is_given_more_than_night_and_the_morning_as_much_as_the_afternoon()
    {
        var sigma = new ErrorScale(1, 3).SigmaKelvin;
        Assert.Equal(24, sigma.Count);
        for (var h = 0; h < 12; h++)
        {
            Assert.Equal(sigma[h], sigma[23 - h], 9);
            Assert.True(h == 0 || sigma[h] >= sigma[h - 1], $"hour {h}");
        }

        // Far from the day's twelve hours the night is as it was given; at noon the hours around it have their share.
        Published.Near(1 * Math.Sqrt(Math.PI / 2), sigma[0], 0.001, Geary);
        Assert.InRange(sigma[11], 2.5 * Math.Sqrt(Math.PI / 2), 3 * Math.Sqrt(Math.PI / 2));
    }

    [Theory]
    //          hour   between the middles of, which hold their own number
    [InlineData(6.5, 6)]
    [InlineData(6, 5.5)]
    [InlineData(6.75, 6.25)]
    [InlineData(23.5, 23)]
    [InlineData(0, 11.5)]       // Half way from 23 to 0, over midnight.
    [InlineData(0.25, 5.75)]    // A quarter of 23, three quarters of 0.
    [InlineData(23.75, 17.25)]
    public void Between_the_middles_of_two_hours_it_is_in_proportion(double solarHour, double kelvin) =>
        Assert.Equal(kelvin, ErrorScale.At([.. Enumerable.Range(0, 24).Select(h => (double)h)], solarHour), 9);

    [Theory]
    // Twenty errors of 2 K are thought to have been seen at each hour; a day takes 7 % off what is old: 18.6 errors, 37.2 K.
    //          error   mean after it: two half-hours an hour are two errors more
    [InlineData(4, (37.2 + 2 * 4) / 20.6)]
    [InlineData(-4, (37.2 + 2 * 4) / 20.6)]
    [InlineData(0, 37.2 / 20.6)]
    // Four standard deviations are believed, 4 · 1.2533 · 2 K.
    [InlineData(100, (37.2 + 2 * 10.0264) / 20.6)]
    // Nothing seen is no error of nothing.
    [InlineData(double.NaN, 2)]
    public void A_day_adds_its_errors_and_what_is_older_fades(double error, double meanKelvin)
    {
        var scale = new ErrorScale(2, 2);
        Assert.Equal(48, Day.Count);
        Assert.All(Enumerable.Range(0, 24), hour => Assert.Equal(2, Day.SolarHour.Count(h => (int)h == hour)));

        scale.Learn(Day, [.. Enumerable.Repeat(error, 48)], 0, 48);

        Assert.All(scale.SigmaKelvin, sigma => Published.Near(meanKelvin * Math.Sqrt(Math.PI / 2), sigma, 2e-4, "worked by hand in this row; " + Geary));
    }

    [Fact]
    public void What_is_learnt_of_an_hour_is_told_of_its_neighbours_by_a_bell_of_an_hour_and_a_half()
    {
        var scale = new ErrorScale(2, 2);
        // Only the hour from ten to eleven errs, by 4 K; the rest of the day was not seen.
        double[] errors = [.. Day.SolarHour.Select(h => (int)h == 10 ? 4 : double.NaN)];

        scale.Learn(Day, errors, 0, 48);

        // The bell exp(−½ (hours / 1.5)²) at 0, 1, 2 … 12 hours away; both sides but for the far end.
        double[] bell = [1, 0.800737, 0.411112, 0.135335, 0.028566, 0.003866, 0.000335, 0.0000187, 0, 0, 0, 0, 0];
        var whole = bell[0] + (2 * bell.Skip(1).Sum());
        foreach (var away in Enumerable.Range(0, 8))
        {
            var mean = ((37.2 * whole) + (bell[away] * 2 * 4)) / ((18.6 * whole) + (bell[away] * 2));
            Published.Near(mean * Math.Sqrt(Math.PI / 2), scale.SigmaKelvin[10 + away], 2e-4, "worked by hand in the test");
            Published.Near(mean * Math.Sqrt(Math.PI / 2), scale.SigmaKelvin[10 - away], 2e-4, "worked by hand in the test");
        }
    }

    [Fact]
    public void However_good_a_spot_is_no_hour_is_taken_to_be_better_than_a_sensor()
    {
        var scale = new ErrorScale(2, 2);
        for (var day = 0; day < 100; day++)
            scale.Learn(Day, new double[48], 0, 48);
        Assert.All(scale.SigmaKelvin, sigma => Assert.Equal(0.15, sigma));
    }
}
