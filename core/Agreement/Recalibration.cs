using PavementWatch.Core.Calibration;

namespace PavementWatch.Core.Agreement;

/// <summary>How a sensor that reads wrong could be put right: <c>corrected = gain · reading + offset</c>, in surface temperatures.</summary>
/// <param name="Kind">What is suggested.</param>
/// <param name="Gain">[K/K] 1 unless two points are suggested.</param>
/// <param name="OffsetKelvin">[K] Added after the gain; 0 when nothing is suggested.</param>
/// <param name="RemainingKelvin">[K] Root mean square difference that would remain on these checks.</param>
public sealed record Recalibration(RecalibrationKind Kind, double Gain, double OffsetKelvin, double RemainingKelvin)
{
    /// <summary>How many checks it rests on.</summary>
    public int Checks { get; init; }

    /// <summary>How many checks are asked for.</summary>
    public int LeastChecks { get; init; }

    /// <summary>How the sensor agrees with the checks as it is; <c>null</c> when there were too few for that.</summary>
    public MethodAgreement? Agreement { get; init; }

    /// <summary>[K/K] What alone would put the sensor right where that is <see cref="RecalibrationKind.Implausible"/>.</summary>
    public double NeededGain { get; init; } = 1;

    /// <summary>[K] The same of the offset.</summary>
    public double NeededOffsetKelvin { get; init; }

    // [K] Of a mounted sensor with what it sees of the ground beside the thermometer's circle; common practice, no source.
    private const double SensorAccuracyKelvin = 1;

    /// <summary>Looks for a correction of the sensor.</summary>
    /// <param name="pairs">The sensor held against hand-held readings; finite.</param>
    /// <param name="thresholds">What the analyst asks for.</param>
    /// <param name="confidenceFraction">[fraction] How sure it must be that there is something to correct; 0.5 to 0.999, 0.95 unless given.</param>
    /// <returns>
    /// Two points where the slope of the reference over the reading (<see cref="CorrectionLine"/>) differs from 1, the
    /// readings span enough and these checks then differ less than by an offset alone; else an offset where the bias differs from 0; else nothing. A gain or offset that no sensor
    /// has is not suggested: then something else is wrong.
    /// </returns>
    /// <exception cref="ArgumentException">A pair is not finite.</exception>
    public static Recalibration Of(
        IReadOnlyList<ComparedPair> pairs, AgreementThresholds thresholds, double confidenceFraction = 0.95)
    {
        ArgumentNullException.ThrowIfNull(thresholds);
        ArgumentNullException.ThrowIfNull(pairs);
        var agreement = BlandAltman.Of(pairs, confidenceFraction: confidenceFraction);
        var judged = agreement is null || agreement.Count < thresholds.LeastPairs
            ? new(RecalibrationKind.TooFewChecks, 1, 0, agreement?.RmseKelvin ?? 0)
            : Of(pairs, agreement, thresholds, confidenceFraction);
        return judged with { Checks = pairs.Count, LeastChecks = thresholds.LeastPairs, Agreement = agreement };
    }

    private static Recalibration Of(
        IReadOnlyList<ComparedPair> pairs, MethodAgreement agreement, AgreementThresholds thresholds, double confidenceFraction)
    {
        var remaining = agreement.DeviationKelvin * Math.Sqrt((agreement.Count - 1.0) / agreement.Count);
        var span = pairs.Max(p => p.CheckedCelsius) - pairs.Min(p => p.CheckedCelsius);
        if (span >= thresholds.LeastSpanKelvin)
        {
            var line = CorrectionLine.Of(pairs, ErrorRatio(thresholds));
            var half = StudentT.Quantile(0.5 + (confidenceFraction / 2), pairs.Count - 2) * line.GainError;
            if (Math.Abs(line.Gain - 1) > half && line.RemainingKelvin < remaining)
                return Judged(RecalibrationKind.TwoPoint, line.Gain, line.OffsetKelvin, line.RemainingKelvin, agreement);
        }

        if (agreement.BiasIntervalKelvin.Contains(0))
            return new(RecalibrationKind.None, 1, 0, agreement.RmseKelvin);
        return Judged(RecalibrationKind.Offset, 1, -agreement.BiasKelvin, remaining, agreement);
    }

    private static double ErrorRatio(AgreementThresholds thresholds) =>
        Math.Pow(thresholds.ThermometerAccuracyKelvin / SensorAccuracyKelvin, 2);

    private static Recalibration Judged(RecalibrationKind kind, double gain, double offset, double remaining, MethodAgreement agreement) =>
        gain is >= ProbeCalibration.MinGain and <= ProbeCalibration.MaxGain && Math.Abs(offset) <= ProbeCalibration.MaxOffsetKelvin
            ? new(kind, gain, offset, remaining)
            : new(RecalibrationKind.Implausible, 1, 0, agreement.RmseKelvin) { NeededGain = gain, NeededOffsetKelvin = offset };
}

/// <summary>What is suggested for a sensor.</summary>
public enum RecalibrationKind
{
    /// <summary>Nothing, for too little is known.</summary>
    TooFewChecks = 0,

    /// <summary>Nothing: the bias may be chance.</summary>
    None,

    /// <summary>Add a constant.</summary>
    Offset,

    /// <summary>Gain and offset, from readings far enough apart.</summary>
    TwoPoint,

    /// <summary>The difference is larger than any sensor's fault.</summary>
    Implausible,
}
