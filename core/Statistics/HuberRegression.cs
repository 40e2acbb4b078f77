namespace PavementWatch.Core.Statistics;

/// <summary>Linear regression that a few wild rows do not move.</summary>
/// <remarks>
/// Huber's M-estimator by iterated reweighting from least squares, the scale re-estimated at each step as median
/// absolute residual over 0.6745: P. J. Huber, Robust Statistics, Wiley 1981, chapter 7; the same definition as
/// <c>rlm</c> of Venables and Ripley, Modern Applied Statistics with S, 4th ed., 2002, section 6.5, run to its fixed point.
/// </remarks>
public static class HuberRegression
{
    /// <summary>[scales] Residuals up to here count fully; 95 % efficient with normal errors.</summary>
    public const double Threshold = 1.345;

    private const double MadOfNormal = 0.6745;
    private const int MostSteps = 500;

    /// <summary>Fits y by the columns.</summary>
    /// <param name="columns">The columns of the design, each as long as <paramref name="y"/>.</param>
    /// <param name="y">What is to be explained.</param>
    /// <returns>A <see cref="LinearFit"/> with the weight each row kept, or <see cref="NotEnough"/>.</returns>
    /// <exception cref="ArgumentException">Lengths differ or a value is not finite.</exception>
    public static LinearOutcome Fit(IReadOnlyList<double[]> columns, IReadOnlyList<double> y)
    {
        if (LeastSquares.Fit(columns, y) is not LinearFit fit)
            return LeastSquares.Fit(columns, y);

        var weights = new double[y.Count];
        for (var step = 0; step < MostSteps; step++)
        {
            var scale = Robust.Median([.. fit.Residuals.Select(Math.Abs)]) / MadOfNormal;
            if (scale == 0)
                return fit with { ResidualScale = 0 };
            for (var i = 0; i < weights.Length; i++)
                weights[i] = Math.Min(1, Threshold * scale / Math.Abs(fit.Residuals[i]));
            if (LeastSquares.Fit(columns, y, weights) is not LinearFit next)
                return new NotEnough("the rows that agree with each other do not settle every coefficient");

            var moved = next.Residuals.Zip(fit.Residuals, (a, b) => Math.Abs(a - b)).Max();
            fit = next;
            if (moved <= 1e-13 * scale)
                break;
        }

        var last = Robust.Median([.. fit.Residuals.Select(Math.Abs)]) / MadOfNormal;
        return fit with { ResidualScale = last, StandardErrors = StandardErrors(columns, fit, last) };
    }

    /// <summary>Huber 1981, section 7.6, with the correction factor for the number of columns.</summary>
    private static double[] StandardErrors(IReadOnlyList<double[]> columns, LinearFit fit, double scale)
    {
        var n = fit.Residuals.Count;
        var p = columns.Count;
        // Plain errors per unit of residual standard deviation, so that only the scale has to be exchanged.
        var flat = (LinearFit)LeastSquares.Fit(columns, fit.Residuals);
        double squares = 0;
        double inside = 0;
        for (var i = 0; i < n; i++)
        {
            var weighted = fit.Weights[i] * fit.Residuals[i];
            squares += weighted * weighted;
            if (Math.Abs(fit.Residuals[i]) <= Threshold * scale)
                inside++;
        }

        var mean = inside / n;
        var variance = mean * (1 - mean) * n / (n - 1);
        var kappa = 1 + p * variance / (n * mean * mean);
        var factor = Math.Sqrt(squares / (n - p)) * kappa / mean / flat.ResidualScale;
        return [.. flat.StandardErrors.Select(e => e * factor)];
    }
}
