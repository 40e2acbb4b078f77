namespace PavementWatch.Core.Agreement;

/// <summary>How often what was measured lay in the interval that was said before.</summary>
/// <param name="Count">Intervals checked; at least 1.</param>
/// <param name="Inside">How many held what was measured, ends included.</param>
/// <param name="NominalPercent">[%] How many should have.</param>
public sealed record IntervalCoverage(int Count, int Inside, double NominalPercent)
{
    // Quantile 0.975 of the normal distribution.
    private const double Z95 = 1.959963984540054;

    /// <summary>[%] How many did.</summary>
    public double ObservedPercent => 100.0 * Inside / Count;

    /// <summary>[%] 95 % confidence interval of that.</summary>
    /// <remarks>Source: Wilson, Probable inference, the law of succession, and statistical inference, JASA 22 (1927) 209–212.</remarks>
    public Interval ObservedIntervalPercent
    {
        get
        {
            double n = Count, p = (double)Inside / Count;
            var middle = p + (Z95 * Z95 / (2 * n));
            var half = Z95 * Math.Sqrt(((p * (1 - p)) + (Z95 * Z95 / (4 * n))) / n);
            var scale = 100 / (1 + (Z95 * Z95 / n));
            return new Interval(Math.Max(0, scale * (middle - half)), Math.Min(100, scale * (middle + half)));
        }
    }

    /// <summary>What that says of the intervals.</summary>
    public CoverageFinding Finding =>
        ObservedIntervalPercent.High < NominalPercent ? CoverageFinding.TooNarrow
        : ObservedIntervalPercent.Low > NominalPercent ? CoverageFinding.TooWide
        : CoverageFinding.Honest;

    /// <summary>Counts.</summary>
    /// <param name="checks">Lower end, upper end and measured, each [°C]; one with a NaN is not inside.</param>
    /// <param name="nominalPercent">[%] What the intervals promise; over 0, under 100; 90 unless given.</param>
    /// <returns>The coverage; <c>null</c> without checks.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A promise outside its range.</exception>
    public static IntervalCoverage? Of(
        IEnumerable<(double LowerCelsius, double UpperCelsius, double MeasuredCelsius)> checks, double nominalPercent = 90)
    {
        ArgumentNullException.ThrowIfNull(checks);
        if (!(nominalPercent is > 0 and < 100))
            throw new ArgumentOutOfRangeException(nameof(nominalPercent), nominalPercent, "expected over 0 and under 100");
        int count = 0, inside = 0;
        foreach (var (lower, upper, measured) in checks)
        {
            count++;
            inside += measured >= lower && measured <= upper ? 1 : 0;
        }

        return count == 0 ? null : new IntervalCoverage(count, inside, nominalPercent);
    }
}

/// <summary>What checks say of intervals.</summary>
public enum CoverageFinding
{
    /// <summary>Fewer hold than promised: they claim too much.</summary>
    TooNarrow = 0,

    /// <summary>As many hold as promised, as far as the number of checks can tell.</summary>
    Honest,

    /// <summary>More hold than promised: they say less than is known.</summary>
    TooWide,
}
