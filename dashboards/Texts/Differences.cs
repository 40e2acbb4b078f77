using System.Globalization;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Differences of temperatures as people read them: in K, in °F (nine fifths as many, without the 32 of a temperature), or both.</summary>
internal static class Differences
{
    /// <summary>With its sign, e.g. <c>+12.3 K (+22.1 °F)</c>.</summary>
    public static string Signed(double kelvin, TemperatureUnit unit) => Text(kelvin, unit, "+0.0;-0.0;0.0");

    /// <summary>Without sign, e.g. <c>1.2 K (2.2 °F)</c>.</summary>
    public static string Size(double kelvin, TemperatureUnit unit) => Text(kelvin, unit, "0.0");

    /// <summary>In hundredths, e.g. <c>0.45 K (0.81 °F)</c>.</summary>
    public static string Fine(double kelvin, TemperatureUnit unit) => Text(kelvin, unit, "0.00");

    /// <summary>In whole degrees, e.g. <c>9 K (16 °F)</c>.</summary>
    public static string Whole(double kelvin, TemperatureUnit unit) => Text(kelvin, unit, "0");

    /// <summary>With its sign and without its unit, for tables of many: <c>+0.31</c>; a dash where there is none. See <see cref="Symbol"/>.</summary>
    public static string Short(double? kelvin, TemperatureUnit unit) => Figure(kelvin, unit, "+0.00;-0.00;0.00");

    /// <summary>Without its unit; a dash where there is none, which is no difference of 0.</summary>
    public static string Figure(double? kelvin, TemperatureUnit unit, string format = "0.00") =>
        kelvin is { } there ? In(there, unit).ToString(format, CultureInfo.InvariantCulture) : "–";

    /// <summary>The unit of an axis or a table of differences, which has room for one: K unless °F is chosen.</summary>
    public static string Symbol(TemperatureUnit unit) => unit == TemperatureUnit.Fahrenheit ? "°F" : "K";

    /// <summary>A difference in the unit of <see cref="Symbol"/>.</summary>
    public static double In(double kelvin, TemperatureUnit unit) => unit == TemperatureUnit.Fahrenheit ? kelvin * Temperatures.FahrenheitPerKelvin : kelvin;

    /// <summary>[K] of a difference that was typed in the unit of <see cref="Symbol"/>.</summary>
    public static double From(double typed, TemperatureUnit unit) => unit == TemperatureUnit.Fahrenheit ? typed / Temperatures.FahrenheitPerKelvin : typed;

    private static string Text(double kelvin, TemperatureUnit unit, string format)
    {
        var (inKelvin, inFahrenheit) = (kelvin.ToString(format, CultureInfo.InvariantCulture), (kelvin * Temperatures.FahrenheitPerKelvin).ToString(format, CultureInfo.InvariantCulture));
        return Temperatures.InSentence($"{inKelvin} K", $"{inFahrenheit} °F", unit);
    }
}
