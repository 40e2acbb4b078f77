using CsCheck;
using PavementWatch.Core.Contact;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Contact;

public class ContactTimeTests
{
    private const string Equations = "ASTM C1055 equations, constants from memory, computed in Python 3.11";

    [Theory]
    [InlineData(1, 64.204)]
    [InlineData(2, 61.401)]
    [InlineData(5, 58.324)]
    [InlineData(10, 56.353)]
    [InlineData(30, 53.694)]
    [InlineData(60, 52.242)]
    [InlineData(300, 49.366)]
    [InlineData(600, 48.292)]
    [InlineData(3600, 45.851)]
    [InlineData(21600, 43.770)]
    public void Thresholds_agree_with_values_computed_elsewhere(double seconds, double celsius) =>
        Published.Near(celsius, BurnThreshold.ReversibleCelsius(TimeSpan.FromSeconds(seconds)), 5e-4, Equations);

    [Theory]
    //          °C    s   source
    [InlineData(48, 900, "second degree 15 min: exposure table, antiscald.com, after Moritz and Henriques")]
    [InlineData(49, 480, "second degree 8 min: the same")]
    [InlineData(51, 120, "second degree 2 min: the same")]
    [InlineData(55, 17, "second degree 17 s: the same")]
    [InlineData(60, 3, "second degree 3 s: the same")]
    public void Times_are_of_the_decade_of_the_published_table(double celsius, double seconds, string source)
    {
        var limit = ContactTime.Limit(celsius).TotalSeconds;
        Published.Near(Math.Log10(Math.Min(seconds, 600)), Math.Log10(limit), 0.5, source);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(60)]
    [InlineData(599)]
    public void The_time_is_that_at_which_the_curve_has_the_temperature(double seconds)
    {
        var celsius = BurnThreshold.ReversibleCelsius(TimeSpan.FromSeconds(seconds));
        Published.Near(seconds, ContactTime.Limit(celsius - 1e-9).TotalSeconds, seconds * 1e-5, "By definition: the inverse");
    }

    [Fact]
    public void The_default_limit_is_about_five_minutes()
    {
        // 49.366 °C is five minutes and 48.292 °C ten, so 49 °C lies between.
        var limit = ContactTime.Limit(49);
        Assert.InRange(limit, TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(8));
    }

    [Theory]
    [InlineData(-20)]
    [InlineData(25)]
    [InlineData(48.29)]
    public void A_cool_surface_gets_the_cap_and_no_more(double celsius) =>
        Assert.Equal(TimeSpan.FromMinutes(10), ContactTime.Limit(celsius));

    [Fact]
    public void Just_above_the_caps_temperature_the_time_is_shorter() =>
        Assert.InRange(ContactTime.Limit(48.30), TimeSpan.FromMinutes(9.5), TimeSpan.FromMinutes(9.999));

    [Theory]
    [InlineData(64.20, 1.0, 1.01)]
    [InlineData(64.21, 0, 0)]
    [InlineData(93, 0, 0)]
    public void Under_a_second_the_curve_does_not_hold_and_the_time_is_none(double celsius, double least, double most) =>
        Assert.InRange(ContactTime.Limit(celsius).TotalSeconds, least, most);

    [Fact]
    public void A_warmer_surface_never_gets_a_longer_time() =>
        Gen.Select(Gen.Double[-50, 120], Gen.Double[0, 20]).Sample(
            (celsius, more) => ContactTime.Limit(celsius + more) <= ContactTime.Limit(celsius), iter: 20_000);

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(-100.1)]
    [InlineData(1000.1)]
    public void A_temperature_out_of_range_is_refused(double celsius) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactTime.Limit(celsius));

    [Theory]
    [InlineData(-100)]
    [InlineData(1000)]
    public void Temperatures_at_the_edges_are_taken(double celsius) =>
        Assert.InRange(ContactTime.Limit(celsius), TimeSpan.Zero, ContactTime.Cap);

    [Fact]
    public void Times_the_curves_do_not_hold_for_are_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => BurnThreshold.ReversibleCelsius(TimeSpan.FromSeconds(0.999)));
        Assert.Throws<ArgumentOutOfRangeException>(() => BurnThreshold.ReversibleCelsius(TimeSpan.FromHours(6.001)));
    }
}
