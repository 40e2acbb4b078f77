namespace PavementWatch.Core.Calibration;

/// <summary>What a calibration must satisfy. Bounds without a named source are common practice.</summary>
public sealed record CalibrationRule
{
    /// <summary>[K] Limit of error of the contact thermometer, either way; 0.5 for a DS18B20 (data sheet, −10 to 85 °C).</summary>
    public double ReferenceLimitKelvin { get; init; } = 0.5;

    /// <summary>[fraction] Limit of error of the target's emissivity, either way; spread of the tables in the reference.</summary>
    public double EmissivityLimitFraction { get; init; } = 0.02;

    /// <summary>[K] The two points must lie at least this far apart, or their errors decide the gain.</summary>
    public double LeastSpanKelvin { get; init; } = 25;

    /// <summary>[K] A sensor further off than this is broken, dirty or looking elsewhere: its data sheet says ±0.5 °C to 50 °C.</summary>
    public double MostResidualKelvin { get; init; } = 5;

    /// <summary>[K] A cold point this near 0 °C is meant to be an ice bath, and is held to it.</summary>
    public double IceBathWithinKelvin { get; init; } = 3;

    /// <summary>[K] What a kitchen's ice bath may be off; a careful one is within 0.1 (ice point guide of a national laboratory).</summary>
    public double IceBathLimitKelvin { get; init; } = 0.2;
}
