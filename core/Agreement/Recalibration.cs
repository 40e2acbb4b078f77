using System.Globalization;
using PavementWatch.Core.Calibration;

namespace PavementWatch.Core.Agreement;

/// <summary>How a sensor that reads wrong could be put right: <c>corrected = gain · reading + offset</c>, in surface temperatures.</summary>
/// <param name="Kind">What is suggested.</param>
/// <param name="Gain">[K/K] 1 unless two points are suggested.</param>
/// <param name="OffsetKelvin">[K] Added after the gain; 0 when nothing is suggested.</param>
/// <param name="RemainingKelvin">[K] Root mean square difference that would remain on these checks.</param>
/// <param name="Text">Why, in a plain sentence.</param>
public sealed record Recalibration(
    RecalibrationKind Kind, double Gain, double OffsetKelvin, double RemainingKelvin, string Text)
{
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
        var agreement = BlandAltman.Of(pairs, confidenceFraction: confidenceFraction);
        if (agreement is null || agreement.Count < thresholds.LeastPairs)
        {
            return new(RecalibrationKind.None, 1, 0, agreement?.RmseKelvin ?? 0,
                Say($"Too few checks to correct the sensor by: {pairs.Count} where {thresholds.LeastPairs} are asked for."));
        }

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
        {
            return new(RecalibrationKind.None, 1, 0, agreement.RmseKelvin,
                Say($"The sensor's bias of {agreement.BiasKelvin:F1} K may be chance; there is nothing to correct."));
        }

        return Judged(RecalibrationKind.Offset, 1, -agreement.BiasKelvin, remaining, agreement);
    }

    private static double ErrorRatio(AgreementThresholds thresholds) =>
        Math.Pow(thresholds.ThermometerAccuracyKelvin / SensorAccuracyKelvin, 2);

    private static Recalibration Judged(
        RecalibrationKind kind, double gain, double offset, double remaining, MethodAgreement agreement)
    {
        if (!(gain is >= ProbeCalibration.MinGain and <= ProbeCalibration.MaxGain && Math.Abs(offset) <= ProbeCalibration.MaxOffsetKelvin))
        {
            return new(RecalibrationKind.Implausible, 1, 0, agreement.RmseKelvin,
                Say($"Only a gain of {gain:F2} with {offset:+0.0;-0.0} K would put the sensor right, and no sensor is that wrong. Look at its aim, its lens and the surface below it, and at the emissivity set on both thermometers."));
        }

        var what = kind == RecalibrationKind.Offset
            ? Say($"add {offset:+0.0;-0.0} K to the sensor")
            : Say($"take {gain:F3} times the sensor's reading and add {offset:+0.0;-0.0} K");
        return new(kind, gain, offset, remaining,
            Say($"To put the sensor right, {what}: on these {agreement.Count} checks the typical difference falls from {agreement.RmseKelvin:F1} to {remaining:F1} K. Clean the lens and check again first."));
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}

/// <summary>What is suggested for a sensor.</summary>
public enum RecalibrationKind
{
    /// <summary>Nothing, or too little is known.</summary>
    None = 0,

    /// <summary>Add a constant.</summary>
    Offset,

    /// <summary>Gain and offset, from readings far enough apart.</summary>
    TwoPoint,

    /// <summary>The difference is larger than any sensor's fault.</summary>
    Implausible,
}
