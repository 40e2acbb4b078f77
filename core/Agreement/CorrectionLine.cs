namespace PavementWatch.Core.Agreement;

/// <summary>The straight line of the reference over the reading, where both may be in error: Deming's regression.</summary>
/// <remarks>
/// Least squares of the reference alone takes the reading to be exact; noise in it then makes every gain look too small.
/// Sources: Deming, Statistical Adjustment of Data, 1943; the standard error by leaving out one pair at a time, Linnet, Evaluation
/// of regression procedures for methods comparison studies, Clinical Chemistry 39 (1993) 424–432; both from memory.
/// </remarks>
/// <param name="Gain">[K/K] Slope; 0 where reading and reference do not go together at all.</param>
/// <param name="OffsetKelvin">[K] Intercept.</param>
/// <param name="GainError">[K/K] Standard error of the slope.</param>
/// <param name="RemainingKelvin">[K] Root mean square of the reference minus the line, divisor n.</param>
public sealed record CorrectionLine(double Gain, double OffsetKelvin, double GainError, double RemainingKelvin)
{
    /// <summary>Fits the line.</summary>
    /// <param name="pairs">At least 3 pairs whose readings are not all the same; finite.</param>
    /// <param name="errorRatio">Variance of the reference's errors over that of the reading's: 0 and up, 1 unless given; infinite where the reading is exact.</param>
    /// <returns>The line.</returns>
    /// <exception cref="ArgumentException">Too few pairs, readings all the same, or not finite.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The ratio is negative or not a number.</exception>
    public static CorrectionLine Of(IReadOnlyList<ComparedPair> pairs, double errorRatio = 1)
    {
        ArgumentNullException.ThrowIfNull(pairs);
        BlandAltman.RequireFinite(pairs);
        if (!(errorRatio >= 0))
            throw new ArgumentOutOfRangeException(nameof(errorRatio), errorRatio, "expected 0 or more");
        if (pairs.Count < 3)
            throw new ArgumentException($"{pairs.Count} pairs, expected at least 3", nameof(pairs));
        if (pairs.All(p => p.CheckedCelsius == pairs[0].CheckedCelsius))
            throw new ArgumentException("all readings are the same, so they have no slope", nameof(pairs));

        var (gain, offset) = Fit(pairs, errorRatio);
        var without = pairs.Select((_, i) => Fit([.. pairs.Where((_, j) => j != i)], errorRatio).Gain).ToList();
        var mean = without.Average();
        return new CorrectionLine(
            gain, offset,
            Math.Sqrt((pairs.Count - 1.0) / pairs.Count * without.Sum(g => (g - mean) * (g - mean))),
            Math.Sqrt(pairs.Average(p => Math.Pow(p.ReferenceCelsius - offset - (gain * p.CheckedCelsius), 2))));
    }

    private static (double Gain, double OffsetKelvin) Fit(IReadOnlyList<ComparedPair> pairs, double errorRatio)
    {
        var meanX = pairs.Average(p => p.CheckedCelsius);
        var meanY = pairs.Average(p => p.ReferenceCelsius);
        double alongX = 0, alongY = 0, together = 0;
        foreach (var (x, y) in pairs)
        {
            alongX += (x - meanX) * (x - meanX);
            alongY += (y - meanY) * (y - meanY);
            together += (x - meanX) * (y - meanY);
        }

        var gain = Slope(alongX, alongY, together, errorRatio);
        return (gain, meanY - (gain * meanX));
    }

    // The root of together·g² − (alongY − ratio·alongX)·g − ratio·together with the sign of together, without cancellation.
    private static double Slope(double alongX, double alongY, double together, double errorRatio)
    {
        if (together == 0)
            return 0;
        if (double.IsInfinity(errorRatio))
            return together / alongX;
        var half = (alongY - (errorRatio * alongX)) / (2 * together);
        var root = Math.Sign(together) * Math.Sqrt((half * half) + errorRatio);
        return half * root >= 0 ? half + root : errorRatio / (root - half);
    }
}
