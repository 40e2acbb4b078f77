using System.Globalization;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Temperatures as people read them: in the unit each of them has chosen, in both until then.</summary>
/// <remarks>Of the ground beside a limit see <see cref="GroundTexts"/>.</remarks>
public static class Temperatures
{
    /// <summary>[°F/K] A difference of one kelvin in °F (exact by the definition of the Fahrenheit scale).</summary>
    public const double FahrenheitPerKelvin = 1.8;

    /// <summary>[°F] of a temperature in °C (exact by the definition of the Fahrenheit scale).</summary>
    public static double ToFahrenheit(double celsius) => celsius * 9 / 5 + 32;

    /// <summary>[°C] of a temperature in °F.</summary>
    public static double FromFahrenheit(double fahrenheit) => (fahrenheit - 32) * 5 / 9;

    /// <summary>For a card, e.g. <c>57.3 °C · 135 °F</c>.</summary>
    public static string Of(double celsius, TemperatureUnit unit) => string.Join(" · ", Lines(celsius, unit));

    /// <summary>Each unit by itself, for the lines of a table's cell: <c>57.3 °C</c>, <c>135 °F</c>.</summary>
    public static IEnumerable<string> Lines(double celsius, TemperatureUnit unit)
    {
        if (unit != TemperatureUnit.Fahrenheit)
            yield return Celsius(celsius, "0.0");
        if (unit != TemperatureUnit.Celsius)
            yield return Fahrenheit(celsius);
    }

    /// <summary>For use inside a sentence, e.g. <c>49 °C (120 °F)</c>.</summary>
    public static string InSentence(double celsius, TemperatureUnit unit) => InSentence(Celsius(celsius, "0.#"), Fahrenheit(celsius), unit);

    /// <summary>An interval, e.g. <c>41 to 52 °C (106 to 126 °F)</c>; widened to whole degrees, never narrowed.</summary>
    public static string Interval(double lowerCelsius, double upperCelsius, TemperatureUnit unit) =>
        InSentence(CelsiusInterval(lowerCelsius, upperCelsius), FahrenheitInterval(lowerCelsius, upperCelsius), unit);

    /// <summary>Each unit of an interval by itself.</summary>
    public static IEnumerable<string> IntervalLines(double lowerCelsius, double upperCelsius, TemperatureUnit unit)
    {
        if (unit != TemperatureUnit.Fahrenheit)
            yield return CelsiusInterval(lowerCelsius, upperCelsius);
        if (unit != TemperatureUnit.Celsius)
            yield return FahrenheitInterval(lowerCelsius, upperCelsius);
    }

    /// <summary>What may be typed, e.g. <c>30 to 52 °C (86 to 125 °F)</c>: whatever is in it in whole °F is in the range.</summary>
    public static string Range(QuantityRange celsius, TemperatureUnit unit) => InSentence(
        celsius.ToString(),
        string.Create(CultureInfo.InvariantCulture, $"{Math.Ceiling(ToFahrenheit(celsius.Least)):0} to {Math.Floor(ToFahrenheit(celsius.Most)):0} °F"),
        unit);

    /// <summary>Two wordings of the same in one.</summary>
    internal static string InSentence(string celsius, string fahrenheit, TemperatureUnit unit) => unit switch
    {
        TemperatureUnit.Celsius => celsius,
        TemperatureUnit.Fahrenheit => fahrenheit,
        _ => $"{celsius} ({fahrenheit})",
    };

    /// <summary>The unit of an axis or a table of temperatures, which has room for one: °C unless °F is chosen.</summary>
    public static string Symbol(TemperatureUnit unit) => unit == TemperatureUnit.Fahrenheit ? "°F" : "°C";

    /// <summary>A temperature in the unit of <see cref="Symbol"/>.</summary>
    public static double In(double celsius, TemperatureUnit unit) => unit == TemperatureUnit.Fahrenheit ? ToFahrenheit(celsius) : celsius;

    private static string Celsius(double celsius, string format) => $"{Rounded(celsius, 1).ToString(format, CultureInfo.InvariantCulture)} °C";

    private static string Fahrenheit(double celsius) => string.Create(CultureInfo.InvariantCulture, $"{Rounded(ToFahrenheit(celsius), 0):0} °F");

    // Adding 0 makes 0 of -0, which would read "-0".
    private static double Rounded(double degrees, int decimals) => Math.Round(degrees, decimals, MidpointRounding.AwayFromZero) + 0.0;

    private static string CelsiusInterval(double lower, double upper) =>
        string.Create(CultureInfo.InvariantCulture, $"{Math.Floor(lower):0} to {Math.Ceiling(upper):0} °C");

    private static string FahrenheitInterval(double lower, double upper) =>
        string.Create(CultureInfo.InvariantCulture, $"{Math.Floor(ToFahrenheit(lower)):0} to {Math.Ceiling(ToFahrenheit(upper)):0} °F");
}
