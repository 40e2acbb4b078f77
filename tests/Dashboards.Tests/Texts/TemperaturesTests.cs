using PavementWatch.Core.Quantities;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests.Texts;

/// <summary>Temperatures and differences in the unit that somebody has chosen.</summary>
public class TemperaturesTests
{
    [Theory]
    //          °C     unit                        on a card            in a sentence
    [InlineData(57.3, TemperatureUnit.Both, "57.3 °C · 135 °F", "57.3 °C (135 °F)")]
    [InlineData(57.3, TemperatureUnit.Celsius, "57.3 °C", "57.3 °C")]
    [InlineData(57.3, TemperatureUnit.Fahrenheit, "135 °F", "135 °F")]
    [InlineData(49.0, TemperatureUnit.Both, "49.0 °C · 120 °F", "49 °C (120 °F)")]
    [InlineData(49.0, TemperatureUnit.Celsius, "49.0 °C", "49 °C")]
    [InlineData(49.0, TemperatureUnit.Fahrenheit, "120 °F", "120 °F")]
    [InlineData(-10.0, TemperatureUnit.Fahrenheit, "14 °F", "14 °F")]
    // No "-0".
    [InlineData(-0.04, TemperatureUnit.Both, "0.0 °C · 32 °F", "0 °C (32 °F)")]
    [InlineData(-17.9, TemperatureUnit.Fahrenheit, "0 °F", "0 °F")]
    public void A_temperature_is_in_the_unit_of_who_reads_it(double celsius, TemperatureUnit unit, string card, string sentence) =>
        Assert.Equal((card, sentence), (Temperatures.Of(celsius, unit), Temperatures.InSentence(celsius, unit)));

    [Theory]
    [InlineData(TemperatureUnit.Both, "41 to 53 °C (107 to 126 °F)", "41 to 53 °C|107 to 126 °F")]
    [InlineData(TemperatureUnit.Celsius, "41 to 53 °C", "41 to 53 °C")]
    [InlineData(TemperatureUnit.Fahrenheit, "107 to 126 °F", "107 to 126 °F")]
    public void An_interval_is_widened_in_the_unit_it_is_in(TemperatureUnit unit, string text, string lines) =>
        Assert.Equal((text, lines), (Temperatures.Interval(41.9, 52.2, unit), string.Join('|', Temperatures.IntervalLines(41.9, 52.2, unit))));

    // 52 °C is 125.6 °F: who types the most that is named is taken.
    [Theory]
    [InlineData(TemperatureUnit.Both, "30 to 52 °C (86 to 125 °F)")]
    [InlineData(TemperatureUnit.Celsius, "30 to 52 °C")]
    [InlineData(TemperatureUnit.Fahrenheit, "86 to 125 °F")]
    public void A_range_names_nothing_that_would_be_refused(TemperatureUnit unit, string text) =>
        Assert.Equal(text, Temperatures.Range(QuantityRanges.Limit, unit));

    [Theory]
    //          K     unit                        with sign             size              whole             in a table
    [InlineData(12.3, TemperatureUnit.Both, "+12.3 K (+22.1 °F)", "12.3 K (22.1 °F)", "12 K (22 °F)", "+12.30")]
    [InlineData(12.3, TemperatureUnit.Celsius, "+12.3 K", "12.3 K", "12 K", "+12.30")]
    [InlineData(12.3, TemperatureUnit.Fahrenheit, "+22.1 °F", "22.1 °F", "22 °F", "+22.14")]
    [InlineData(-1.0, TemperatureUnit.Fahrenheit, "-1.8 °F", "-1.8 °F", "-2 °F", "-1.80")]
    [InlineData(0.0, TemperatureUnit.Fahrenheit, "0.0 °F", "0.0 °F", "0 °F", "0.00")]
    public void A_difference_has_nine_fifths_and_no_thirty_two(double kelvin, TemperatureUnit unit, string withSign, string size, string whole, string inTable) =>
        Assert.Equal(
            (withSign, size, whole, inTable),
            (Differences.Signed(kelvin, unit), Differences.Size(kelvin, unit), Differences.Whole(kelvin, unit), Differences.Short(kelvin, unit)));

    [Theory]
    [InlineData(TemperatureUnit.Both)]
    [InlineData(TemperatureUnit.Celsius)]
    [InlineData(TemperatureUnit.Fahrenheit)]
    public void What_is_typed_as_a_difference_comes_back(TemperatureUnit unit) =>
        Assert.Equal(2.5, Differences.From(Differences.In(2.5, unit), unit), 1e-12);

    [Theory]
    [InlineData("celsius", true, TemperatureUnit.Celsius)]
    [InlineData("Fahrenheit", true, TemperatureUnit.Fahrenheit)]
    [InlineData("both", true, TemperatureUnit.Both)]
    [InlineData("1", false, TemperatureUnit.Both)]
    [InlineData("kelvin", false, TemperatureUnit.Both)]
    [InlineData("", false, TemperatureUnit.Both)]
    [InlineData(null, false, TemperatureUnit.Both)]
    public void A_choice_is_read_by_its_name(string? text, bool known, TemperatureUnit unit) =>
        Assert.Equal((known, unit), (UnitText.TryParse(text, out var read), read));
}
