namespace PavementWatch.Core.Agreement;

/// <summary>Agreement of two methods of measurement, neither of them perfect.</summary>
/// <remarks>
/// Sources: Bland and Altman, Statistical methods for assessing agreement between two methods of clinical measurement,
/// Lancet 327 (1986) 307–310; the same, Measuring agreement in method comparison studies, Statistical Methods in Medical
/// Research 8 (1999) 135–160, for the standard error s·√(1/n + z²/(2(n − 1))) of a limit, from memory; Lin, A concordance correlation coefficient to
/// evaluate reproducibility, Biometrics 45 (1989) 255–268, divisor n. Both expect differences that do not depend on each
/// other: readings minutes apart on one afternoon tell less than their number says.
/// </remarks>
public static class BlandAltman
{
    /// <summary>Fewest pairs that anything is said of.</summary>
    public const int LeastPairs = 3;

    /// <summary>Compares.</summary>
    /// <param name="pairs">The pairs, in any order; finite.</param>
    /// <param name="limitDeviations">Standard deviations from the bias to a limit; over 0. 1.96 unless given, 2 in the paper of 1986.</param>
    /// <param name="confidenceFraction">[fraction] Confidence of the intervals; 0.5 to 0.999 inclusive, 0.95 unless given.</param>
    /// <returns>The agreement; <c>null</c> for fewer than <see cref="LeastPairs"/> pairs.</returns>
    /// <exception cref="ArgumentException">A pair is not finite.</exception>
    /// <exception cref="ArgumentOutOfRangeException">A multiple or a confidence outside its range.</exception>
    public static MethodAgreement? Of(
        IReadOnlyList<ComparedPair> pairs, double limitDeviations = 1.96, double confidenceFraction = 0.95)
    {
        ArgumentNullException.ThrowIfNull(pairs);
        if (!(limitDeviations > 0 && double.IsFinite(limitDeviations)))
            throw new ArgumentOutOfRangeException(nameof(limitDeviations), limitDeviations, "expected a finite number over 0");
        if (!(confidenceFraction is >= 0.5 and <= 0.999))
            throw new ArgumentOutOfRangeException(nameof(confidenceFraction), confidenceFraction, "expected 0.5 to 0.999");
        RequireFinite(pairs);
        if (pairs.Count < LeastPairs)
            return null;

        var n = pairs.Count;
        var bias = pairs.Average(p => p.DifferenceKelvin);
        var s = Math.Sqrt(pairs.Sum(p => Square(p.DifferenceKelvin - bias)) / (n - 1));
        var t = StudentT.Quantile(0.5 + (confidenceFraction / 2), n - 1);
        var biasError = s / Math.Sqrt(n);
        var limitError = s * Math.Sqrt((1.0 / n) + (Square(limitDeviations) / (2 * (n - 1))));
        var (lower, upper) = (bias - (limitDeviations * s), bias + (limitDeviations * s));

        var meanChecked = pairs.Average(p => p.CheckedCelsius);
        var meanReference = pairs.Average(p => p.ReferenceCelsius);
        var varChecked = pairs.Average(p => Square(p.CheckedCelsius - meanChecked));
        var varReference = pairs.Average(p => Square(p.ReferenceCelsius - meanReference));
        var covariance = pairs.Average(p => (p.CheckedCelsius - meanChecked) * (p.ReferenceCelsius - meanReference));
        var spread = varChecked + varReference + Square(meanChecked - meanReference);

        return new MethodAgreement(n, bias, s)
        {
            ConfidenceFraction = confidenceFraction,
            BiasErrorKelvin = biasError,
            BiasIntervalKelvin = Around(bias, t * biasError),
            LowerLimitKelvin = lower,
            UpperLimitKelvin = upper,
            LimitErrorKelvin = limitError,
            LowerLimitIntervalKelvin = Around(lower, t * limitError),
            UpperLimitIntervalKelvin = Around(upper, t * limitError),
            RmseKelvin = Math.Sqrt(pairs.Average(p => Square(p.DifferenceKelvin))),
            CorrelationFraction = varChecked > 0 && varReference > 0 ? covariance / Math.Sqrt(varChecked * varReference) : null,
            ConcordanceFraction = spread > 0 ? 2 * covariance / spread : null,
        };
    }

    internal static void RequireFinite(IReadOnlyList<ComparedPair> pairs)
    {
        for (var i = 0; i < pairs.Count; i++)
        {
            if (!double.IsFinite(pairs[i].DifferenceKelvin))
                throw new ArgumentException($"pair {i} is {pairs[i].CheckedCelsius} and {pairs[i].ReferenceCelsius}, expected finite temperatures", nameof(pairs));
        }
    }

    private static Interval Around(double middle, double half) => new(middle - half, middle + half);

    private static double Square(double x) => x * x;
}
