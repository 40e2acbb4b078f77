using System.Globalization;
using PavementWatch.Core.Calibration;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Gateway.Sizing;

/// <summary>Says what came of a calibration, with the settings to paste.</summary>
internal static class CalibrationReport
{
    /// <summary>The result as lines of text.</summary>
    /// <param name="done">What came of it.</param>
    /// <param name="probe">The probe's name in the settings.</param>
    public static string Of(Calibrated done, string probe)
    {
        var (gain, offset) = (Math.Round(done.Calibration.Gain, 4), Math.Round(done.Calibration.OffsetKelvin, 2));
        var atLimit = (Spot.DefaultLimitCelsius - done.Calibration.OffsetKelvin) / done.Calibration.Gain;
        List<string> lines =
        [
            Point("cold", done.Cold, done.ColdResidualKelvin),
            Point("warm", done.Warm, done.WarmResidualKelvin),
            Say($"gain {gain:0.0000}, offset {offset:0.00} K; near {Spot.DefaultLimitCelsius:0} °C readings are then right within {done.ExpandedUncertaintyKelvin(atLimit):0.0} K (95 %)"),
        ];
        if (done.ChangesNothingCertain)
            lines.Add("The sensor is already as right as this comparison can tell; the settings may stay as they are.");
        lines.Add("Settings of the gateway:");
        lines.Add(Say($$"""{ "Probes": { "{{probe}}": { "CalibrationGain": {{gain:0.0000}}, "CalibrationOffsetKelvin": {{offset:0.00}} } } }"""));
        return string.Concat(lines.Select(l => l + "\n"));
    }

    private static string Point(string name, CalibrationPoint point, double residualKelvin) => Say(
        $"{name}  thermometer {point.ReferenceCelsius:0.00} °C, target of emissivity {point.EmissivityFraction:0.00}: the sensor should say {point.MeasuredCelsius + residualKelvin:0.00} °C and says {point.MeasuredCelsius:0.00} °C");

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
