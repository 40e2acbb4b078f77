namespace PavementWatch.Core.Weather;

/// <summary>Where the air of an estimate is from.</summary>
public enum AirOrigin
{
    /// <summary>Nobody knows; it is taken to repeat its last day.</summary>
    Repeated = 0,

    /// <summary>A forecast.</summary>
    Forecast,

    /// <summary>Measured at the spot or its site, or observed by a weather station.</summary>
    Measured,
}
