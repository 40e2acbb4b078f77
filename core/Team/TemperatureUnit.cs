namespace PavementWatch.Core.Team;

/// <summary>The unit in which somebody reads temperatures. Each chooses for themselves; what is stored and decided is in °C for all.</summary>
public enum TemperatureUnit
{
    /// <summary>°C and °F: until somebody has chosen, and for whoever is not known.</summary>
    Both = 0,

    /// <summary>°C; differences in K.</summary>
    Celsius,

    /// <summary>°F; differences too.</summary>
    Fahrenheit,
}
