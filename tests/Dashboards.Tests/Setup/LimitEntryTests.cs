using PavementWatch.Dashboards.Setup;

namespace PavementWatch.Dashboards.Tests.Setup;

/// <summary>A limit as it is typed and as it stands in a form.</summary>
public class LimitEntryTests
{
    [Theory]
    [InlineData("49", "celsius", 49)]
    [InlineData("48,5", "celsius", 48.5)]
    [InlineData("120", "fahrenheit", 48.889)]
    [InlineData("86", "fahrenheit", 30)]
    [InlineData("125", "fahrenheit", 51.667)]
    public void It_is_kept_in_Celsius(string text, string typed, double celsius) =>
        Assert.Equal((celsius, null), SetupText.Limit(text, typed, TemperatureUnit.Both));

    [Theory]
    [InlineData("hot", "celsius", TemperatureUnit.Both, "limit is 'hot', expected a temperature such as 49 °C (120 °F)")]
    [InlineData("20", "celsius", TemperatureUnit.Celsius, "limit is 20 °C, expected 30 to 52 °C")]
    [InlineData("126", "fahrenheit", TemperatureUnit.Fahrenheit, "limit is 126 °F, expected 86 to 125 °F")]
    [InlineData("40", "fahrenheit", TemperatureUnit.Both, "limit is 40 °F, expected 30 to 52 °C (86 to 125 °F)")]
    public void What_cannot_be_one_is_refused_in_the_readers_unit(string text, string typed, TemperatureUnit unit, string fault) =>
        Assert.Equal((null, fault), SetupText.Limit(text, typed, unit));

    [Theory]
    [InlineData("0", "celsius", 0.0)]
    [InlineData("4,5", "celsius", 4.5)]
    [InlineData("32", "fahrenheit", 0.0)]
    [InlineData("41", "fahrenheit", 5.0)]
    [InlineData("", "celsius", null)]
    public void A_cold_limit_may_be_left_to_that_of_all_spots(string text, string typed, double? celsius) =>
        Assert.Equal((celsius, null), SetupText.ColdLimit(text, typed, TemperatureUnit.Both));

    [Theory]
    [InlineData("ice", "celsius", TemperatureUnit.Both, "cold limit is 'ice', expected a temperature such as 5 °C (41 °F), or nothing")]
    [InlineData("-0,1", "celsius", TemperatureUnit.Celsius, "cold limit is -0,1 °C, expected 0 to 5 °C, or nothing")]
    [InlineData("31", "fahrenheit", TemperatureUnit.Fahrenheit, "cold limit is 31 °F, expected 32 to 41 °F, or nothing")]
    [InlineData("5.1", "celsius", TemperatureUnit.Both, "cold limit is 5.1 °C, expected 0 to 5 °C (32 to 41 °F), or nothing")]
    public void A_cold_limit_by_which_ice_would_not_be_told_is_refused(string text, string typed, TemperatureUnit unit, string fault) =>
        Assert.Equal((null, fault), SetupText.ColdLimit(text, typed, unit));

    // Whoever changes the name of a spot sends its limit back.
    [Theory]
    [InlineData(TemperatureUnit.Both)]
    [InlineData(TemperatureUnit.Celsius)]
    [InlineData(TemperatureUnit.Fahrenheit)]
    public void A_form_sent_back_as_it_was_leaves_the_limit(TemperatureUnit unit)
    {
        foreach (var limit in (double[])[30, 43.5, 49, 52])
        {
            var (number, typed) = SetupText.Typed(limit, unit);
            Assert.Equal(limit, SetupText.Limit(number, typed, unit).Celsius!.Value, 0.01);
        }

        foreach (var limit in (double?[])[null, 0, 2.5, 5])
            Assert.Equal(limit, SetupText.ColdLimit(SetupText.TypedOrNothing(limit, unit), SetupText.Typed(49, unit).Unit, unit).Celsius);
    }
}
