namespace PavementWatch.Core.Sun;

/// <summary>Where the sun stands, seen from a place at a moment.</summary>
/// <remarks><c>default</c> is a sun on the horizon due north and means nothing.</remarks>
/// <param name="ElevationDegrees">[°] Centre of the sun above the horizon, refraction left out; −90 to 90.</param>
/// <param name="AzimuthDegrees">[°] From north over east; 0 to 360, 360 excluded.</param>
/// <param name="DeclinationDegrees">[°] North positive; −23.5 to 23.5.</param>
/// <param name="HourAngleDegrees">[°] Zero at solar noon, afternoon positive; −180 to 180.</param>
/// <param name="EquationOfTimeMinutes">[min] True minus mean solar time; −15 to 17.</param>
public readonly record struct SolarAngles(
    double ElevationDegrees,
    double AzimuthDegrees,
    double DeclinationDegrees,
    double HourAngleDegrees,
    double EquationOfTimeMinutes);
