using System.Globalization;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Differences of temperatures as people read them: kelvin, and the same in degrees Fahrenheit.</summary>
internal static class Differences
{
    /// <summary>With its sign, e.g. <c>+12.3 K (+22.1 °F)</c>.</summary>
    public static string Signed(double kelvin) =>
        string.Create(CultureInfo.InvariantCulture, $"{kelvin:+0.0;-0.0;0.0} K ({kelvin * Temperatures.FahrenheitPerKelvin:+0.0;-0.0;0.0} °F)");

    /// <summary>Without sign, e.g. <c>1.2 K (2.2 °F)</c>.</summary>
    public static string Size(double kelvin) =>
        string.Create(CultureInfo.InvariantCulture, $"{kelvin:0.0} K ({kelvin * Temperatures.FahrenheitPerKelvin:0.0} °F)");

    /// <summary>Kelvin alone, for tables of many: <c>+0.31</c>.</summary>
    public static string Short(double? kelvin) => kelvin?.ToString("+0.00;-0.00;0.00", CultureInfo.InvariantCulture) ?? "–";
}
