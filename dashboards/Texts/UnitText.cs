using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Units of temperature as people read and choose them.</summary>
public static class UnitText
{
    /// <summary>The choice's words.</summary>
    public static string Of(TemperatureUnit unit) => unit switch
    {
        TemperatureUnit.Celsius => "°C",
        TemperatureUnit.Fahrenheit => "°F",
        _ => "°C and °F",
    };

    /// <summary>The choice's name in forms and commands.</summary>
    public static string Name(TemperatureUnit unit) => unit switch
    {
        TemperatureUnit.Celsius => "celsius",
        TemperatureUnit.Fahrenheit => "fahrenheit",
        _ => "both",
    };

    /// <summary>Reads a choice by its name, in letters of either case; numbers are none.</summary>
    public static bool TryParse(string? text, out TemperatureUnit unit)
    {
        unit = default;
        foreach (var known in Enum.GetValues<TemperatureUnit>())
        {
            if (!string.Equals(text, Name(known), StringComparison.OrdinalIgnoreCase))
                continue;
            unit = known;
            return true;
        }

        return false;
    }
}
