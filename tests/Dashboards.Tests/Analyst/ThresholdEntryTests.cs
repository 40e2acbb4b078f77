using PavementWatch.Core.Agreement;
using PavementWatch.Dashboards.Analyst;

namespace PavementWatch.Dashboards.Tests.Analyst;

/// <summary>What the analyst asks of checks, as typed.</summary>
public class ThresholdEntryTests
{
    [Fact]
    public void What_is_typed_is_asked_with_a_point_or_a_comma() => Assert.Equal(
        new AgreementThresholds { MostBiasKelvin = 1.5, MostDifferenceKelvin = 4, LeastPairs = 12, LeastSpanKelvin = 20, ThermometerAccuracyKelvin = 0.5 },
        Read("1,5", "4.0", "12", "20", "0,5").Asked);

    [Fact]
    public void What_is_typed_in_Fahrenheit_is_a_difference_and_stands_there_again()
    {
        var asked = Read("1.8", "7.2", "12", "36", "2.7", TemperatureUnit.Fahrenheit).Asked!;
        // Five ninths each, by definition of the scale; the 32 is of temperatures.
        Assert.Equal((1.0, 4.0, 20.0, 1.5), (asked.MostBiasKelvin, asked.MostDifferenceKelvin, asked.LeastSpanKelvin, asked.ThermometerAccuracyKelvin));
        Assert.Equal(("1.8", "1"), (ThresholdEntry.Text(asked.MostBiasKelvin, TemperatureUnit.Fahrenheit), ThresholdEntry.Text(asked.MostBiasKelvin, TemperatureUnit.Both)));
    }

    [Theory]
    //          bias  limit  pairs   span  what is said
    [InlineData("0", "4", "8", "15", "Largest bias is “0”, expected a number over 0.")]
    [InlineData("", "4", "8", "15", "Largest bias is “”, expected a number over 0.")]
    [InlineData("1", "-4", "8", "15", "Furthest limit is “-4”, expected a number over 0.")]
    [InlineData("1", "4", "2", "15", "Fewest checks is “2”, expected 3 to 1000, a whole number.")]
    [InlineData("1", "4", "1001", "15", "Fewest checks is “1001”, expected 3 to 1000, a whole number.")]
    [InlineData("1", "4", "8.5", "15", "Fewest checks is “8.5”, expected 3 to 1000, a whole number.")]
    [InlineData("1", "4", "eight", "15", "Fewest checks is “eight”, expected 3 to 1000, a whole number.")]
    [InlineData("1", "4", "8", "NaN", "Span is “NaN”, expected a number over 0.")]
    public void What_cannot_be_asked_is_named_with_what_was_typed(string bias, string limit, string pairs, string span, string fault) =>
        Assert.Equal((null, fault), Read(bias, limit, pairs, span));

    [Theory]
    //          typed  unit                         what is said
    [InlineData("0.1", TemperatureUnit.Celsius, null)]
    [InlineData("0.2", TemperatureUnit.Fahrenheit, null)]
    [InlineData("0", TemperatureUnit.Celsius, "What the thermometer may be off is “0”, expected 0.1 to 5 K: no thermometer is exact; take what its data sheet says.")]
    [InlineData("0.1", TemperatureUnit.Fahrenheit, "What the thermometer may be off is “0.1”, expected 0.2 to 9 °F: no thermometer is exact; take what its data sheet says.")]
    [InlineData("5", TemperatureUnit.Celsius, null)]
    [InlineData("9", TemperatureUnit.Fahrenheit, null)]
    [InlineData("-0.1", TemperatureUnit.Celsius, "What the thermometer may be off is “-0.1”, expected 0.1 to 5 K: no thermometer is exact; take what its data sheet says.")]
    [InlineData("5.01", TemperatureUnit.Both, "What the thermometer may be off is “5.01”, expected 0.1 to 5 K: no thermometer is exact; take what its data sheet says.")]
    [InlineData("9.01", TemperatureUnit.Fahrenheit, "What the thermometer may be off is “9.01”, expected 0.2 to 9 °F: no thermometer is exact; take what its data sheet says.")]
    [InlineData("", TemperatureUnit.Celsius, "What the thermometer may be off is “”, expected 0.1 to 5 K: no thermometer is exact; take what its data sheet says.")]
    public void What_a_thermometer_may_be_off_is_held_to_its_edges_in_the_unit_it_is_typed_in(string typed, TemperatureUnit unit, string? fault) =>
        Assert.Equal(fault, Read("1", "4", "8", "15", typed, unit).Fault);

    private static (AgreementThresholds? Asked, string? Fault) Read(
        string bias, string limit, string pairs, string span, string accuracy = "1.5", TemperatureUnit unit = TemperatureUnit.Both) => ThresholdEntry.Read(
        name => name switch { "bias" => bias, "limit" => limit, "pairs" => pairs, "span" => span, "accuracy" => accuracy, _ => null }, unit);
}
