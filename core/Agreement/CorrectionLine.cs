namespace PavementWatch.Core.Agreement;

/// <summary>The straight line of the reference over the reading, by ordinary least squares.</summary>
/// <param name="Gain">[K/K] Slope.</param>
/// <param name="OffsetKelvin">[K] Intercept.</param>
/// <param name="GainError">[K/K] Standard error of the slope.</param>
/// <param name="RemainingKelvin">[K] Root mean square of the residuals, divisor n.</param>
public sealed record CorrectionLine(double Gain, double OffsetKelvin, double GainError, double RemainingKelvin)
{
    /// <summary>Fits the line.</summary>
    /// <param name="pairs">At least 3 pairs whose readings are not all the same; finite.</param>
    /// <returns>The line.</returns>
    /// <exception cref="ArgumentException">Too few pairs, readings all the same, or not finite.</exception>
    public static CorrectionLine Of(IReadOnlyList<ComparedPair> pairs)
    {
        ArgumentNullException.ThrowIfNull(pairs);
        BlandAltman.RequireFinite(pairs);
        if (pairs.Count < 3)
            throw new ArgumentException($"{pairs.Count} pairs, expected at least 3", nameof(pairs));

        var meanX = pairs.Average(p => p.CheckedCelsius);
        var meanY = pairs.Average(p => p.ReferenceCelsius);
        var alongX = pairs.Sum(p => (p.CheckedCelsius - meanX) * (p.CheckedCelsius - meanX));
        if (alongX == 0)
            throw new ArgumentException("all readings are the same, so they have no slope", nameof(pairs));

        var gain = pairs.Sum(p => (p.CheckedCelsius - meanX) * (p.ReferenceCelsius - meanY)) / alongX;
        var offset = meanY - (gain * meanX);
        var squares = pairs.Sum(p => Math.Pow(p.ReferenceCelsius - offset - (gain * p.CheckedCelsius), 2));
        return new CorrectionLine(
            gain, offset, Math.Sqrt(squares / (pairs.Count - 2) / alongX), Math.Sqrt(squares / pairs.Count));
    }
}
