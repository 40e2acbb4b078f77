namespace PavementWatch.Dashboards.Texts;

/// <summary>Temperatures as people read them: both units, always.</summary>
public static class Temperatures
{
    /// <summary>[°F/K] A difference of one kelvin in °F (exact by the definition of the Fahrenheit scale).</summary>
    public const double FahrenheitPerKelvin = 1.8;

    /// <summary>[°F] of a temperature in °C (exact by the definition of the Fahrenheit scale).</summary>
    public static double ToFahrenheit(double celsius) => celsius * 9 / 5 + 32;

    /// <summary>[°C] of a temperature in °F.</summary>
    public static double FromFahrenheit(double fahrenheit) => (fahrenheit - 32) * 5 / 9;

    /// <summary>For a card, e.g. <c>57.3 °C · 135 °F</c>.</summary>
    public static string Both(double celsius) => $"{Celsius(celsius)} · {Fahrenheit(celsius)}";

    /// <summary>For use inside a sentence, e.g. <c>49 °C (120 °F)</c>.</summary>
    public static string InSentence(double celsius) => $"{celsius:0.#} °C ({Fahrenheit(celsius)})";

    /// <summary>An interval in both units, e.g. <c>41 to 52 °C (106 to 126 °F)</c>; widened to whole degrees, never narrowed.</summary>
    public static string Interval(double lowerCelsius, double upperCelsius) =>
        $"{Math.Floor(lowerCelsius):0} to {Math.Ceiling(upperCelsius):0} °C "
        + $"({Math.Floor(ToFahrenheit(lowerCelsius)):0} to {Math.Ceiling(ToFahrenheit(upperCelsius)):0} °F)";

    /// <summary>E.g. <c>57.3 °C</c>.</summary>
    public static string Celsius(double celsius) => $"{celsius:F1} °C";

    /// <summary>The same in °F, to the whole degree: <c>135 °F</c>.</summary>
    public static string Fahrenheit(double celsius) =>
        $"{Math.Round(ToFahrenheit(celsius), MidpointRounding.AwayFromZero):0} °F";
}
