namespace PavementWatch.Core.Statistics;

/// <summary>Centre and spread that a few wild values do not move.</summary>
public static class Robust
{
    /// <summary>1.4826: makes the median absolute deviation of normal values their standard deviation.</summary>
    public const double MadToSigma = 1.4826;

    /// <summary>The value in the middle; the mean of the two in the middle when their number is even.</summary>
    /// <param name="values">Any finite values, in any order; left as they were.</param>
    /// <returns>The median, in the values' unit.</returns>
    /// <exception cref="ArgumentException">There is no value.</exception>
    public static double Median(ReadOnlySpan<double> values)
    {
        var sorted = values.ToArray();
        Array.Sort(sorted);
        return Quantile(sorted, 0.5);
    }

    /// <summary>Median absolute deviation from the median, times 1.4826.</summary>
    /// <param name="values">Any finite values, in any order; left as they were.</param>
    /// <returns>A spread like a standard deviation, in the values' unit; 0 when more than half are equal.</returns>
    /// <exception cref="ArgumentException">There is no value.</exception>
    public static double MedianAbsoluteDeviation(ReadOnlySpan<double> values)
    {
        var centre = Median(values);
        var away = new double[values.Length];
        for (var i = 0; i < away.Length; i++)
            away[i] = Math.Abs(values[i] - centre);
        return MadToSigma * Median(away);
    }

    /// <summary>Huber's centre: the mean after values further than <paramref name="threshold"/> spreads are drawn in.</summary>
    /// <remarks>
    /// The spread is the median absolute deviation, kept fixed: Venables and Ripley, Modern Applied Statistics with S,
    /// 4th ed., 2002, section 5.5.
    /// </remarks>
    /// <param name="values">Any finite values.</param>
    /// <param name="threshold">[spreads] How far a value counts fully; more than 0.</param>
    /// <returns>The centre, in the values' unit; the median when more than half the values are equal.</returns>
    /// <exception cref="ArgumentException">There is no value.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The threshold is not more than 0.</exception>
    public static double HuberCentre(ReadOnlySpan<double> values, double threshold = 1.5)
    {
        if (!(threshold > 0))
            throw new ArgumentOutOfRangeException(nameof(threshold), threshold, "expected more than 0");
        var reach = threshold * MedianAbsoluteDeviation(values);
        var centre = Median(values);
        if (reach == 0)
            return centre;
        for (var step = 0; step < 1000; step++)
        {
            var sum = 0.0;
            foreach (var value in values)
                sum += Math.Clamp(value, centre - reach, centre + reach);
            var next = sum / values.Length;
            if (Math.Abs(next - centre) <= 1e-14 * reach)
                return next;
            centre = next;
        }

        return centre;
    }

    /// <summary>The value below which a share of sorted values lies, between neighbours in proportion.</summary>
    /// <param name="sorted">Values in rising order.</param>
    /// <param name="fraction">[fraction] 0 (least value) to 1 (largest value) inclusive.</param>
    /// <returns>The quantile, in the values' unit.</returns>
    /// <exception cref="ArgumentException">There is no value.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The fraction is not a number or outside its range.</exception>
    /// <remarks>Definition 7 of Hyndman and Fan, Am. Stat. 50 (1996) 361–365.</remarks>
    public static double Quantile(ReadOnlySpan<double> sorted, double fraction)
    {
        if (sorted.IsEmpty)
            throw new ArgumentException("expected at least one value", nameof(sorted));
        if (!(fraction is >= 0 and <= 1))
            throw new ArgumentOutOfRangeException(nameof(fraction), fraction, "expected 0 to 1");
        var place = fraction * (sorted.Length - 1);
        var below = (int)place;
        return below + 1 >= sorted.Length
            ? sorted[^1]
            : sorted[below] + (place - below) * (sorted[below + 1] - sorted[below]);
    }
}
