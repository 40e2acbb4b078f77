namespace PavementWatch.Core.Agreement;

/// <summary>What a comparison says of the checked method, and what it rests on.</summary>
/// <param name="Finding">The finding.</param>
/// <param name="Because">Why.</param>
public sealed record AgreementVerdict(AgreementFinding Finding, AgreementReason Because)
{
    /// <summary>The comparison; <c>null</c> when there were too few pairs for one.</summary>
    public MethodAgreement? Agreement { get; init; }

    /// <summary>On how many different days its pairs were measured.</summary>
    public int Days { get; init; }

    /// <summary>What was asked for.</summary>
    public AgreementThresholds Thresholds { get; init; } = new();

    /// <summary>Judges a comparison.</summary>
    /// <param name="agreement">The comparison, or <c>null</c> when there were too few pairs.</param>
    /// <param name="days">On how many different days its pairs were measured; 0 and up.</param>
    /// <param name="thresholds">What the analyst asks for.</param>
    /// <returns>
    /// The verdict. It is sure only where whole confidence intervals lie on one side: a bias counts as one where all of its interval
    /// lies past the threshold and what the thermometer may be off itself; the limits as too far where by all of their own one is past
    /// its threshold whatever the thermometer is off, which moves both the same way; near enough by all of their own.
    /// </returns>
    public static AgreementVerdict Of(MethodAgreement? agreement, int days, AgreementThresholds thresholds)
    {
        ArgumentNullException.ThrowIfNull(thresholds);
        var (finding, because) = Judge(agreement, days, thresholds);
        return new(finding, because) { Agreement = agreement, Days = days, Thresholds = thresholds };
    }

    private static (AgreementFinding Finding, AgreementReason Because) Judge(MethodAgreement? agreement, int days, AgreementThresholds thresholds)
    {
        if (agreement is null || agreement.Count < thresholds.LeastPairs)
            return (AgreementFinding.NotEnough, AgreementReason.TooFewChecks);
        if (days < AgreementThresholds.LeastDays)
            return (AgreementFinding.NotEnough, AgreementReason.TooFewDays);

        var (interval, most) = (agreement.BiasIntervalKelvin, thresholds.MostBiasKelvin);
        var (accuracy, furthest) = (thresholds.ThermometerAccuracyKelvin, thresholds.MostDifferenceKelvin);
        var (lower, upper) = (agreement.LowerLimitIntervalKelvin, agreement.UpperLimitIntervalKelvin);
        if (interval.Low > most + accuracy || interval.High < -most - accuracy)
            return (AgreementFinding.Biased, AgreementReason.BiasTooLarge);
        if (lower.High < -furthest - accuracy || upper.Low > furthest + accuracy || upper.Low - lower.High > 2 * furthest)
            return (AgreementFinding.Scattered, AgreementReason.LimitsTooFar);
        if (interval.Low > most || interval.High < -most)
            return (AgreementFinding.Undecided, AgreementReason.BiasMayBeTheThermometers);
        if (lower.High < -furthest || upper.Low > furthest)
            return (AgreementFinding.Undecided, AgreementReason.LimitsMayBeTheThermometers);
        if (!(interval.Low >= -most && interval.High <= most))
            return (AgreementFinding.Undecided, AgreementReason.BiasNotSure);
        return lower.Low < -furthest || upper.High > furthest
            ? (AgreementFinding.Undecided, AgreementReason.LimitsNotSure)
            : (AgreementFinding.Agrees, AgreementReason.WithinBoth);
    }
}

/// <summary>What a comparison says of a method.</summary>
public enum AgreementFinding
{
    /// <summary>Too few pairs.</summary>
    NotEnough = 0,

    /// <summary>The bias may or may not be past its threshold.</summary>
    Undecided,

    /// <summary>Bias and limits are within their thresholds.</summary>
    Agrees,

    /// <summary>Reads high or low by more than is allowed.</summary>
    Biased,

    /// <summary>No bias, but single readings differ by more than is allowed.</summary>
    Scattered,
}

/// <summary>Why a comparison says what it says.</summary>
public enum AgreementReason
{
    /// <summary>Fewer pairs than are asked for.</summary>
    TooFewChecks = 0,

    /// <summary>Pairs of too few days.</summary>
    TooFewDays,

    /// <summary>The bias is past its threshold and the thermometer's accuracy.</summary>
    BiasTooLarge,

    /// <summary>A limit of agreement is past its threshold, whatever the thermometer is off.</summary>
    LimitsTooFar,

    /// <summary>The bias is past its threshold, and no further than the thermometer may be off.</summary>
    BiasMayBeTheThermometers,

    /// <summary>A limit of agreement is past its threshold, and no further than the thermometer may be off.</summary>
    LimitsMayBeTheThermometers,

    /// <summary>The bias's interval lies on both sides of its threshold.</summary>
    BiasNotSure,

    /// <summary>The interval of a limit of agreement lies on both sides of its threshold.</summary>
    LimitsNotSure,

    /// <summary>Bias and limits are within their thresholds.</summary>
    WithinBoth,
}
