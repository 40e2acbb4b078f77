using System.Globalization;

namespace PavementWatch.Core.Calibration;

/// <summary>Samples of thermometer and infrared sensor side by side, until both are settled.</summary>
public static class CalibrationSeries
{
    /// <summary>Least number of pairs a point is made of. Common practice, no source.</summary>
    public const int LeastSamples = 10;

    /// <summary>[K/min] Fastest change of the target at which the thermometer still follows. Common practice, no source.</summary>
    public const double MostDriftKelvinPerMinute = 0.5;

    /// <summary>[K] Most scatter of the difference between the two. Common practice, no source.</summary>
    public const double MostScatterKelvin = 0.5;

    /// <summary>Makes a point of the samples, or says that they have not settled.</summary>
    /// <param name="samples">Pairs in order of time.</param>
    /// <param name="point">The point, or <c>null</c>.</param>
    /// <returns>Why there is no point; <c>null</c> when there is one.</returns>
    /// <exception cref="ArgumentNullException">No samples.</exception>
    /// <remarks>Scatter is taken of the difference, for the target itself may cool a little while both follow it.</remarks>
    public static CalibrationRefused? Point(IReadOnlyList<CalibrationSample> samples, out CalibrationPoint? point)
    {
        ArgumentNullException.ThrowIfNull(samples);
        point = null;
        if (samples.Count < LeastSamples)
            return Refuse($"only {samples.Count} pairs of samples, expected at least {LeastSamples}: measure longer, or see why a probe is silent with 'gateway check'");

        var third = samples.Count / 3;
        var (first, last) = (samples.Take(third).ToList(), samples.Skip(samples.Count - third).ToList());
        var minutes = (Middle(last) - Middle(first)) / TimeSpan.TicksPerMinute;
        var drift = (last.Average(s => s.ReferenceCelsius) - first.Average(s => s.ReferenceCelsius)) / minutes;
        if (!(Math.Abs(drift) <= MostDriftKelvinPerMinute))
            return Refuse($"the target still changes by {drift:0.0} K a minute, expected at most {MostDriftKelvinPerMinute:0.0}: wait a few minutes and measure again");

        var difference = samples.Average(s => s.ReferenceCelsius - s.MeasuredCelsius);
        var scatter = Math.Sqrt(samples.Sum(s => Square(s.ReferenceCelsius - s.MeasuredCelsius - difference)) / (samples.Count - 1));
        if (!(scatter <= MostScatterKelvin))
            return Refuse($"the two sensors scatter by {scatter:0.0} K against each other, expected at most {MostScatterKelvin:0.0}: shield both from draught and sun, press the thermometer on firmly");

        point = new CalibrationPoint(samples.Average(s => s.ReferenceCelsius), samples.Average(s => s.MeasuredCelsius))
        {
            MeasuredScatterKelvin = scatter,
            SampleCount = samples.Count,
        };
        return null;
    }

    private static double Middle(List<CalibrationSample> samples) => samples.Average(s => (double)s.At.UtcTicks);

    private static double Square(double x) => x * x;

    private static CalibrationRefused Refuse(FormattableString reason) =>
        new(CalibrationFault.NotSettled, reason.ToString(CultureInfo.InvariantCulture));
}

/// <summary>Both sensors at one moment.</summary>
/// <param name="At">When.</param>
/// <param name="ReferenceCelsius">[°C] The contact thermometer.</param>
/// <param name="MeasuredCelsius">[°C] The infrared sensor, as if the target were black.</param>
public readonly record struct CalibrationSample(DateTimeOffset At, double ReferenceCelsius, double MeasuredCelsius);
