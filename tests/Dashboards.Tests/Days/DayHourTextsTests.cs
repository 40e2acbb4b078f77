using PavementWatch.Core.Contact;
using PavementWatch.Dashboards.Days;

namespace PavementWatch.Dashboards.Tests.Days;

/// <summary>An hour's surface, line by line.</summary>
public class DayHourTextsTests
{
    [Theory]
    //          unit, measured, lower, upper, less sure, lines
    [InlineData(TemperatureUnit.Both, 50.0, null, null, false, "50.0 °C|122 °F")]
    [InlineData(TemperatureUnit.Celsius, 50.0, null, null, false, "50.0 °C")]
    [InlineData(TemperatureUnit.Fahrenheit, 50.0, null, null, false, "122 °F")]
    // Under the limit of 49 °C, which reads 120 °F.
    [InlineData(TemperatureUnit.Fahrenheit, 48.8, null, null, false, "119 °F")]
    // 48.6 °C is 119.5 °F, 55.2 °C is 131.4 °F: outwards in either unit.
    [InlineData(TemperatureUnit.Both, null, 48.6, 55.2, false, "estimated|48 to 56 °C|119 to 132 °F")]
    [InlineData(TemperatureUnit.Both, null, 48.6, 55.2, true, "estimated|48 to 56 °C|less sure|119 to 132 °F")]
    [InlineData(TemperatureUnit.Celsius, null, 48.6, 55.2, true, "estimated|48 to 56 °C|less sure")]
    [InlineData(TemperatureUnit.Fahrenheit, null, 48.6, 55.2, true, "estimated|119 to 132 °F|less sure")]
    [InlineData(TemperatureUnit.Both, 50.0, 48.6, 55.2, false, "50.0 °C|122 °F|and estimated|48 to 56 °C|119 to 132 °F")]
    [InlineData(TemperatureUnit.Celsius, null, null, null, false, "none")]
    public void What_was_measured_stands_before_what_was_estimated(
        TemperatureUnit unit, double? measured, double? lower, double? upper, bool lessSure, string lines) =>
        Assert.Equal(lines.Split('|'), DayHourTexts.Surface(new DayHour("14:00", GroundWord.TooHot)
        {
            SurfaceCelsius = measured,
            LowerCelsius = lower,
            UpperCelsius = upper,
            LessSure = lessSure,
        }, 49, unit));
}
