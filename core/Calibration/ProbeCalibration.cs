namespace PavementWatch.Core.Calibration;

/// <summary>How one infrared sensor's reading becomes a right one: <c>gain · reading + offset</c>.</summary>
/// <remarks>
/// It belongs to the sensor, not to the surface: it is applied to the temperature the sensor reports as if the surface
/// were black, before emissivity and sky are corrected for.
/// </remarks>
/// <param name="Gain">[K/K] 1 changes nothing; 0.9 to 1.1 inclusive.</param>
/// <param name="OffsetKelvin">[K] Added after the gain; 0 changes nothing; −10 to 10 inclusive.</param>
public sealed record ProbeCalibration(double Gain, double OffsetKelvin)
{
    /// <summary>[K/K] Least gain accepted: one further from 1 is a wrong measurement, not a sensor.</summary>
    public const double MinGain = 0.9;

    /// <summary>[K/K] Greatest gain accepted.</summary>
    public const double MaxGain = 1.1;

    /// <summary>[K] Greatest offset accepted, either way.</summary>
    public const double MaxOffsetKelvin = 10;

    /// <summary>No calibration: readings stay as they are.</summary>
    public static ProbeCalibration None { get; } = new(1, 0);

    /// <summary>Corrects a reading.</summary>
    /// <param name="apparentCelsius">[°C] What the sensor reported, as if the surface were black.</param>
    /// <returns>[°C] What it should have reported.</returns>
    public double Apply(double apparentCelsius) => Gain * apparentCelsius + OffsetKelvin;
}
