namespace PavementWatch.Core.Calibration;

/// <summary>What comes of a two-point calibration: settings, or why there are none.</summary>
public abstract record CalibrationOutcome
{
    private protected CalibrationOutcome()
    {
    }
}

/// <summary>No calibration.</summary>
/// <param name="Fault">Why, by name.</param>
/// <param name="Reason">What was found, what was expected, and what to do.</param>
public sealed record CalibrationRefused(CalibrationFault Fault, string Reason) : CalibrationOutcome;

/// <summary>Why a calibration is refused.</summary>
public enum CalibrationFault
{
    /// <summary>A value is not a number or outside its range.</summary>
    OutOfRange = 0,

    /// <summary>The two points are too close.</summary>
    TooClose,

    /// <summary>The thermometer does not read 0 °C in the ice bath.</summary>
    IceBath,

    /// <summary>The sensor is further off than a sensor can be.</summary>
    Implausible,

    /// <summary>The temperatures still moved.</summary>
    NotSettled,
}

/// <summary>A calibration that may be used.</summary>
/// <param name="Calibration">Gain and offset.</param>
/// <param name="Cold">The colder point.</param>
/// <param name="Warm">The warmer point.</param>
public sealed record Calibrated(ProbeCalibration Calibration, CalibrationPoint Cold, CalibrationPoint Warm) : CalibrationOutcome
{
    /// <summary>Where the colder point's uncertainty comes from.</summary>
    public required PointUncertainty ColdUncertainty { get; init; }

    /// <summary>Where the warmer point's uncertainty comes from.</summary>
    public required PointUncertainty WarmUncertainty { get; init; }

    /// <summary>[K] What the sensor should have said minus what it said, at the colder point.</summary>
    public required double ColdResidualKelvin { get; init; }

    /// <summary>[K] What the sensor should have said minus what it said, at the warmer point.</summary>
    public required double WarmResidualKelvin { get; init; }

    /// <summary>Whether the sensor was already as right as this comparison can tell; then its settings may stay as they are.</summary>
    public bool ChangesNothingCertain =>
        Math.Abs(ColdResidualKelvin) <= ExpandedUncertaintyKelvin(Cold.MeasuredCelsius)
        && Math.Abs(WarmResidualKelvin) <= ExpandedUncertaintyKelvin(Warm.MeasuredCelsius);

    /// <summary>How far a calibrated reading may be off.</summary>
    /// <param name="measuredCelsius">[°C] What the sensor says, before calibration.</param>
    /// <returns>[K] Expanded uncertainty, coverage factor 2 (about 95 %), either way; grows outside the two points.</returns>
    /// <remarks>
    /// JCGM 100:2008 (GUM), 5.1: the line through two points weighs them w and 1 − w. Limits of error count as rectangular
    /// (4.3.7). One thermometer served both points, so its error is taken as alike or as independent, whichever is worse.
    /// </remarks>
    public double ExpandedUncertaintyKelvin(double measuredCelsius)
    {
        var w = (measuredCelsius - Cold.MeasuredCelsius) / (Warm.MeasuredCelsius - Cold.MeasuredCelsius);
        var (cold2, warm2) = ((1 - w) * (1 - w), w * w);
        var reference = Math.Max(1, cold2 + warm2) * Math.Max(ColdUncertainty.ReferenceVariance, WarmUncertainty.ReferenceVariance);
        return 2 * Math.Sqrt(reference + cold2 * ColdUncertainty.OtherVariance + warm2 * WarmUncertainty.OtherVariance);
    }
}

/// <summary>Where a point's uncertainty comes from. <c>default</c> has none.</summary>
/// <param name="ReferenceVariance">[K²] Of the contact thermometer itself; alike at both points.</param>
/// <param name="OtherVariance">[K²] Of scatter and the target's emissivity; independent.</param>
public readonly record struct PointUncertainty(double ReferenceVariance, double OtherVariance);
