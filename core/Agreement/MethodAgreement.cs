namespace PavementWatch.Core.Agreement;

/// <summary>How two methods agree: bias, limits of agreement, concordance.</summary>
/// <param name="Count">Pairs compared.</param>
/// <param name="BiasKelvin">[K] Mean of checked minus reference.</param>
/// <param name="DeviationKelvin">[K] Standard deviation of the differences, divisor n − 1.</param>
public sealed record MethodAgreement(int Count, double BiasKelvin, double DeviationKelvin)
{
    /// <summary>[fraction] Confidence of the intervals.</summary>
    public double ConfidenceFraction { get; init; }

    /// <summary>[K] Standard error of the bias, s/√n.</summary>
    public double BiasErrorKelvin { get; init; }

    /// <summary>[K] Confidence interval of the bias.</summary>
    public Interval BiasIntervalKelvin { get; init; }

    /// <summary>[K] Lower limit of agreement: bias − 1.96 s, unless another multiple was asked for.</summary>
    public double LowerLimitKelvin { get; init; }

    /// <summary>[K] Upper limit of agreement.</summary>
    public double UpperLimitKelvin { get; init; }

    /// <summary>[K] Standard error of a limit.</summary>
    public double LimitErrorKelvin { get; init; }

    /// <summary>[K] Confidence interval of the lower limit.</summary>
    public Interval LowerLimitIntervalKelvin { get; init; }

    /// <summary>[K] Confidence interval of the upper limit.</summary>
    public Interval UpperLimitIntervalKelvin { get; init; }

    /// <summary>[K] Root mean square of the differences.</summary>
    public double RmseKelvin { get; init; }

    /// <summary>[fraction] Pearson's correlation, −1 to 1; <c>null</c> when one method never changed.</summary>
    public double? CorrelationFraction { get; init; }

    /// <summary>[fraction] Lin's concordance, −1 to 1 (divisor n); <c>null</c> when nothing changed at all.</summary>
    public double? ConcordanceFraction { get; init; }
}
