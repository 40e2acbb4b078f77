using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests.Texts;

/// <summary>Ground beside a limit: however it is rounded, it reads on the side on which it is.</summary>
public class GroundTextsTests
{
    [Theory]
    //          ground  limit   on a card
    [InlineData(48.6, 49, "48.6 °C · 119 °F")]
    // 120.0 °F, and the limit is 120.2.
    [InlineData(48.9, 49, "48.9 °C · 119 °F")]
    // Shown as 49.0 °C it is too hot, so it reads 120 °F as the limit does.
    [InlineData(48.96, 49, "49.0 °C · 120 °F")]
    [InlineData(49, 49, "49.0 °C · 120 °F")]
    // A limit set as 120 °F.
    [InlineData(48.8, 48.89, "48.8 °C · 119 °F")]
    [InlineData(48.86, 48.89, "48.9 °C · 120 °F")]
    // 42.5 °C is 108.5 °F and reads 109.
    [InlineData(42.5, 42.5, "42.5 °C · 109 °F")]
    [InlineData(42.4, 42.5, "42.4 °C · 108 °F")]
    [InlineData(55.9, 49, "55.9 °C · 132 °F")]
    [InlineData(56, 49, "56.0 °C · 133 °F")]
    [InlineData(0.1, 49, "0.1 °C · 33 °F")]
    [InlineData(0.04, 49, "0.0 °C · 32 °F")]
    [InlineData(-0.2, 49, "-0.2 °C · 32 °F")]
    public void Ground_reads_on_the_side_of_a_threshold_on_which_it_is(double celsius, double limit, string text) =>
        Assert.Equal(text, GroundTexts.Of(celsius, limit, TemperatureUnit.Both));

    // Every tenth of a degree beside every limit that may be set in °C or in °F.
    [Theory]
    [InlineData(TemperatureUnit.Celsius, 0.15)]
    [InlineData(TemperatureUnit.Fahrenheit, 1.5 / 1.8)]
    public void No_limit_has_ground_on_its_other_side(TemperatureUnit unit, double mostKelvin)
    {
        var limits = Enumerable.Range(300, 221).Select(tenths => tenths / 10.0)
            .Concat(Enumerable.Range(86, 40).Select(fahrenheit => Math.Round(Temperatures.FromFahrenheit(fahrenheit), 2)));
        foreach (var limit in limits)
        {
            var shownLimit = Number(Temperatures.InSentence(limit, unit));
            for (var hundredths = -300; hundredths <= 300; hundredths += 2)
            {
                var ground = limit + (hundredths / 100.0);
                var text = GroundTexts.Of(ground, limit, unit);
                var isTooHot = GroundWords.For(ground, limit) is GroundWord.TooHot or GroundWord.BurnsInSeconds;
                Assert.True(isTooHot == (Number(text) >= shownLimit), $"ground of {ground} °C reads {text} beside a limit of {shownLimit}");
                var back = unit == TemperatureUnit.Fahrenheit ? Temperatures.FromFahrenheit(Number(text)) : Number(text);
                Assert.True(Math.Abs(back - ground) <= mostKelvin + 0.01, $"ground of {ground} °C reads {text}");
            }
        }
    }

    [Theory]
    //          ground  side            limit  in an alert
    [InlineData(48.7, AlertSide.Heat, 49, "48 °C (119 °F)")]
    [InlineData(49, AlertSide.Heat, 49, "49 °C (120 °F)")]
    [InlineData(51.6, AlertSide.Heat, 49, "52 °C (125 °F)")]
    // A limit set as 120 °F reads 48.9 °C (120 °F).
    [InlineData(48.9, AlertSide.Heat, 48.89, "49 °C (120 °F)")]
    [InlineData(48.7, AlertSide.Heat, 48.89, "48 °C (119 °F)")]
    [InlineData(55.8, AlertSide.Heat, 49, "55 °C (132 °F)")]
    [InlineData(0.3, AlertSide.Cold, 0, "1 °C (33 °F)")]
    [InlineData(0, AlertSide.Cold, 0, "0 °C (32 °F)")]
    [InlineData(-0.3, AlertSide.Cold, 0, "0 °C (31 °F)")]
    [InlineData(3.4, AlertSide.Cold, 3, "4 °C (38 °F)")]
    public void An_alert_says_whole_degrees_on_the_same_side(double celsius, AlertSide side, double limit, string text) =>
        Assert.Equal(text, GroundTexts.InAlert(celsius, side, limit, TemperatureUnit.Both));

    private static double Number(string text) => double.Parse(text.Split(' ')[0], CultureInfo.InvariantCulture);
}
