namespace PavementWatch.Core.Calibration;

/// <summary>One of the two temperatures at which an infrared sensor is compared with a contact thermometer.</summary>
/// <param name="ReferenceCelsius">[°C] What the contact thermometer said; −10 to 85 inclusive, where it is at its best.</param>
/// <param name="MeasuredCelsius">[°C] What the infrared sensor said, as if the target were black; −40 to 150 inclusive.</param>
public sealed record CalibrationPoint(double ReferenceCelsius, double MeasuredCelsius)
{
    /// <summary>[°C] Coldest reference accepted: the DS18B20's data sheet states its ±0.5 °C from here.</summary>
    public const double MinReferenceCelsius = -10;

    /// <summary>[°C] Hottest reference accepted: the DS18B20's data sheet states its ±0.5 °C to here.</summary>
    public const double MaxReferenceCelsius = 85;

    /// <summary>[fraction] Emissivity of what the infrared sensor looked at; 0.8 to 1 inclusive. 1 is a deep hole in crushed ice.</summary>
    public double EmissivityFraction { get; init; } = 1;

    /// <summary>[°C] What the target reflects: the room; −10 to 50 inclusive.</summary>
    public double SurroundingsCelsius { get; init; } = 22;

    /// <summary>[K] Standard deviation of the reference's samples; 0 for a single one.</summary>
    public double ReferenceScatterKelvin { get; init; }

    /// <summary>[K] Standard deviation of the infrared sensor's samples; 0 for a single one.</summary>
    public double MeasuredScatterKelvin { get; init; }

    /// <summary>How many samples the two numbers are the mean of; 1 or more.</summary>
    public int SampleCount { get; init; } = 1;
}
