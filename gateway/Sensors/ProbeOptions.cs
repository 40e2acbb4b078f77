using System.ComponentModel.DataAnnotations;
using PavementWatch.Core.Calibration;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Gateway.Sensors;

/// <summary>A probe of this gateway. Section <c>Probes</c>: the probe's name, then these.</summary>
/// <example>
/// <c>"Probes": { "plaza-ir": { "Kind": "Mlx90614", "Bus": 1, "Address": "0x5A", "Spot": "north-gate-plaza" } }</c>
/// </example>
internal sealed class ProbeOptions
{
    /// <summary>Which sensor it is. Required.</summary>
    public ProbeKind Kind { get; init; }

    /// <summary>Number of its I2C bus, 0 to 32 inclusive; 1, the Pi's header, unless set.</summary>
    [Range(0, 32)]
    public int Bus { get; init; } = 1;

    /// <summary>Its I2C address, 0x08 to 0x77 inclusive, decimal or as <c>0x5A</c>; the sensor's factory address unless set.</summary>
    [Range(0x08, 0x77)]
    public int? Address { get; init; }

    /// <summary>Address of the TCA9548A multiplexer it hangs behind, 0x70 to 0x77 inclusive; none unless set.</summary>
    [Range(0x70, 0x77)]
    public int? Multiplexer { get; init; }

    /// <summary>Channel of that multiplexer, 0 to 7 inclusive.</summary>
    [Range(0, 7)]
    public int? Channel { get; init; }

    /// <summary>Name of a 1-wire device, e.g. <c>28-0316a2795b1c</c>; the only one there unless set.</summary>
    [RegularExpression("[0-9a-f]{2}-[0-9a-f]{12}")]
    public string? Device { get; init; }

    /// <summary>The spot it watches. Required for a surface probe; otherwise unset serves every spot of the gateway.</summary>
    public string? Spot { get; init; }

    /// <summary>[K/K] Gain of an infrared sensor's calibration, 0.9 to 1.1 inclusive; 1 unless set. <c>gateway calibrate</c> finds it.</summary>
    [Range(ProbeCalibration.MinGain, ProbeCalibration.MaxGain)]
    public double CalibrationGain { get; init; } = ProbeCalibration.None.Gain;

    /// <summary>[K] Offset of an infrared sensor's calibration, −10 to 10 inclusive; 0 unless set.</summary>
    [Range(-ProbeCalibration.MaxOffsetKelvin, ProbeCalibration.MaxOffsetKelvin)]
    public double CalibrationOffsetKelvin { get; init; }

    /// <summary>[µm] The wavelengths an infrared sensor sees, <c>5.5-14</c> or <c>8-14</c>; 5.5-14, an MLX90614's filter, unless set.</summary>
    public string? BandMicrometers { get; init; }

    /// <summary>The band to reckon with.</summary>
    public InfraredBand Band() => InfraredBands.TryParse(BandMicrometers, out var band) ? band : InfraredBand.Wide;
}

/// <summary>The probes by name. Section <c>Probes</c>.</summary>
internal sealed class ProbeTable : Dictionary<string, ProbeOptions>;
