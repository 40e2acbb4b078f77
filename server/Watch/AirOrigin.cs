namespace PavementWatch.Server.Watch;

/// <summary>Where the air of an estimate is from.</summary>
internal enum AirOrigin
{
    /// <summary>Nobody knows; it is taken to repeat its last day.</summary>
    Repeated = 0,

    /// <summary>A forecast.</summary>
    Forecast,

    /// <summary>Measured at the spot or its site, or observed by a weather station.</summary>
    Measured,
}
