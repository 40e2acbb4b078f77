using System.Globalization;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Calibration;

/// <summary>Gain and offset of an infrared sensor from two temperatures compared with a contact thermometer.</summary>
public static class TwoPointCalibration
{
    /// <summary>Calibrates, or says why not.</summary>
    /// <param name="one">One point.</param>
    /// <param name="other">The other point; either may be the colder.</param>
    /// <param name="rule">What it must satisfy.</param>
    /// <returns><see cref="Calibrated"/> or <see cref="CalibrationRefused"/>.</returns>
    /// <exception cref="ArgumentNullException">Something is missing.</exception>
    /// <remarks>
    /// The sensor should have said what a grey target at the thermometer's temperature sends out in these surroundings
    /// (<see cref="GreyBody.ApparentCelsius(double, double, double)"/>); the line through both points is the calibration. In a
    /// room the law of the sensor's own band differs from that by 0.02 K on tape at 60 °C.
    /// </remarks>
    public static CalibrationOutcome Of(CalibrationPoint one, CalibrationPoint other, CalibrationRule rule)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(other);
        ArgumentNullException.ThrowIfNull(rule);

        var fault = OutOfRange(one) ?? OutOfRange(other);
        if (fault is not null)
            return fault;

        var (cold, warm) = one.ReferenceCelsius <= other.ReferenceCelsius ? (one, other) : (other, one);
        fault = TooClose(cold, warm, rule) ?? NotIce(cold, rule) ?? FarOff(cold, rule) ?? FarOff(warm, rule);
        if (fault is not null)
            return fault;

        var (coldTarget, warmTarget) = (Target(cold), Target(warm));
        var gain = (warmTarget - coldTarget) / (warm.MeasuredCelsius - cold.MeasuredCelsius);
        var offset = coldTarget - gain * cold.MeasuredCelsius;
        if (!(gain is >= ProbeCalibration.MinGain and <= ProbeCalibration.MaxGain && Math.Abs(offset) <= ProbeCalibration.MaxOffsetKelvin))
        {
            return Refuse(CalibrationFault.Implausible,
                $"gain {gain:0.000}, offset {offset:0.0} K; expected a gain of {ProbeCalibration.MinGain} to {ProbeCalibration.MaxGain} and an offset within ±{ProbeCalibration.MaxOffsetKelvin} K: let both settle and measure again");
        }

        return new Calibrated(new ProbeCalibration(gain, offset), cold, warm)
        {
            ColdResidualKelvin = coldTarget - cold.MeasuredCelsius,
            WarmResidualKelvin = warmTarget - warm.MeasuredCelsius,
            ColdUncertainty = Uncertainty(cold, gain, rule),
            WarmUncertainty = Uncertainty(warm, gain, rule),
        };
    }

    private static double Target(CalibrationPoint point) => Apparent(point, point.EmissivityFraction);

    private static double Apparent(CalibrationPoint point, double emissivityFraction) =>
        GreyBody.ApparentCelsius(point.ReferenceCelsius, point.SurroundingsCelsius, emissivityFraction);

    private static PointUncertainty Uncertainty(CalibrationPoint point, double gain, CalibrationRule rule)
    {
        // Downwards only: no emissivity is above 1.
        var emissivityLimit = Apparent(point, point.EmissivityFraction - rule.EmissivityLimitFraction) - Target(point);
        var scatter = point.ReferenceScatterKelvin * point.ReferenceScatterKelvin
            + gain * gain * point.MeasuredScatterKelvin * point.MeasuredScatterKelvin;
        return new PointUncertainty(
            rule.ReferenceLimitKelvin * rule.ReferenceLimitKelvin / 3,
            emissivityLimit * emissivityLimit / 3 + scatter / point.SampleCount);
    }

    private static CalibrationRefused? OutOfRange(CalibrationPoint point) =>
        Outside("reference", point.ReferenceCelsius, CalibrationPoint.MinReferenceCelsius, CalibrationPoint.MaxReferenceCelsius, " °C")
        ?? Outside("measured", point.MeasuredCelsius, -40, 150, " °C")
        ?? Outside("emissivity", point.EmissivityFraction, 0.8, 1, "")
        ?? Outside("surroundings", point.SurroundingsCelsius, -10, 50, " °C");

    private static CalibrationRefused? Outside(string name, double value, double min, double max, string unit) =>
        value >= min && value <= max
            ? null
            : Refuse(CalibrationFault.OutOfRange, $"{name} is {value}{unit}, expected {min} to {max}{unit}");

    private static CalibrationRefused? TooClose(CalibrationPoint cold, CalibrationPoint warm, CalibrationRule rule)
    {
        var span = warm.ReferenceCelsius - cold.ReferenceCelsius;
        return span >= rule.LeastSpanKelvin
            ? null
            : Refuse(CalibrationFault.TooClose,
                $"the points lie {span:0.0} K apart ({cold.ReferenceCelsius:0.0} °C and {warm.ReferenceCelsius:0.0} °C), expected at least {rule.LeastSpanKelvin:0} K: use an ice bath and a plate near 50 °C");
    }

    private static CalibrationRefused? NotIce(CalibrationPoint cold, CalibrationRule rule)
    {
        var off = Math.Abs(cold.ReferenceCelsius);
        var limit = rule.ReferenceLimitKelvin + rule.IceBathLimitKelvin;
        return off <= limit || off > rule.IceBathWithinKelvin
            ? null
            : Refuse(CalibrationFault.IceBath,
                $"the thermometer says {cold.ReferenceCelsius:0.00} °C in what looks like an ice bath, expected 0 ± {limit:0.0} °C: more crushed ice, just enough water, stir; when it stays, replace the thermometer");
    }

    private static CalibrationRefused? FarOff(CalibrationPoint point, CalibrationRule rule)
    {
        var target = Target(point);
        return Math.Abs(target - point.MeasuredCelsius) <= rule.MostResidualKelvin
            ? null
            : Refuse(CalibrationFault.Implausible,
                $"at {point.ReferenceCelsius:0.0} °C the infrared sensor should say {target:0.0} °C and says {point.MeasuredCelsius:0.0} °C, more than {rule.MostResidualKelvin:0} K off: is the target twice as wide as its spot, dull, and its lens clean and dry?");
    }

    private static CalibrationRefused Refuse(CalibrationFault fault, FormattableString reason) =>
        new(fault, reason.ToString(CultureInfo.InvariantCulture));
}
