namespace PavementWatch.Core.Agreement;

/// <summary>Student's t distribution, for confidence intervals from few measurements.</summary>
/// <remarks>
/// Source: P(|T| &gt; t) = I_x(ν/2, ½), x = ν/(ν + t²), the regularised incomplete beta function; Abramowitz and Stegun
/// 1964, 26.7.1. The quantile is found by halving, to the last bits of a double.
/// </remarks>
public static class StudentT
{
    /// <summary>Probability of a value at or below <paramref name="t"/>.</summary>
    /// <param name="t">The value; any finite number.</param>
    /// <param name="degreesOfFreedom">ν; over 0, finite.</param>
    /// <returns>0 to 1; one half at 0.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double Cumulative(double t, double degreesOfFreedom)
    {
        RequireDegrees(degreesOfFreedom);
        if (!double.IsFinite(t))
            throw new ArgumentOutOfRangeException(nameof(t), t, $"t is {t}, expected a finite number");
        var tail = UpperTail(Math.Abs(t), degreesOfFreedom);
        return t > 0 ? 1 - tail : tail;
    }

    /// <summary>The value that a share of the distribution lies at or below.</summary>
    /// <param name="probability">[fraction] 1e-12 to 1 − 1e-12 inclusive; 0.975 for a two-sided interval of 95 %.</param>
    /// <param name="degreesOfFreedom">ν; 0.5 or more, finite.</param>
    /// <returns>The quantile; 0 at one half.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double Quantile(double probability, double degreesOfFreedom)
    {
        RequireDegrees(degreesOfFreedom);
        if (!(probability is >= 1e-12 and <= 1 - 1e-12))
        {
            throw new ArgumentOutOfRangeException(nameof(probability), probability,
                $"probability is {probability}, expected 1e-12 to 1 - 1e-12");
        }

        ArgumentOutOfRangeException.ThrowIfLessThan(degreesOfFreedom, 0.5);
        var tail = Math.Min(probability, 1 - probability);
        double low = 0, high = 1;
        while (UpperTail(high, degreesOfFreedom) > tail)
            (low, high) = (high, high * 2);

        for (var halving = 0; halving < 200 && high - low > double.Epsilon; halving++)
        {
            var middle = low + ((high - low) / 2);
            if (middle == low || middle == high)
                break;
            if (UpperTail(middle, degreesOfFreedom) > tail)
                low = middle;
            else
                high = middle;
        }

        return probability < 0.5 ? -high : probability > 0.5 ? high : 0;
    }

    private static double UpperTail(double t, double degreesOfFreedom) =>
        0.5 * IncompleteBeta.Regularised(degreesOfFreedom / (degreesOfFreedom + (t * t)), degreesOfFreedom / 2, 0.5);

    private static void RequireDegrees(double degreesOfFreedom)
    {
        if (!(degreesOfFreedom > 0 && double.IsFinite(degreesOfFreedom)))
        {
            throw new ArgumentOutOfRangeException(nameof(degreesOfFreedom), degreesOfFreedom,
                $"degreesOfFreedom is {degreesOfFreedom}, expected a finite number over 0");
        }
    }
}
