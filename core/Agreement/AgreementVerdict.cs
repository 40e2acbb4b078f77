using System.Globalization;

namespace PavementWatch.Core.Agreement;

/// <summary>What a comparison says of the checked method, with its reason in words.</summary>
/// <param name="Finding">The finding.</param>
/// <param name="Text">Why, in plain sentences with figures.</param>
public sealed record AgreementVerdict(AgreementFinding Finding, string Text)
{
    /// <summary>Judges a comparison.</summary>
    /// <param name="agreement">The comparison, or <c>null</c> when there were too few pairs.</param>
    /// <param name="days">On how many different days its pairs were measured; 0 and up.</param>
    /// <param name="thresholds">What the analyst asks for.</param>
    /// <param name="method">The checked method for people, e.g. <c>the sensor</c>.</param>
    /// <returns>
    /// The verdict. It is sure only where whole confidence intervals lie on one side: a bias counts as one where all of its interval
    /// lies past the threshold and what the thermometer may be off itself; a limit as too far, or near enough, by all of its own.
    /// </returns>
    public static AgreementVerdict Of(MethodAgreement? agreement, int days, AgreementThresholds thresholds, string method)
    {
        ArgumentNullException.ThrowIfNull(thresholds);
        if (agreement is null || agreement.Count < thresholds.LeastPairs)
        {
            var count = agreement?.Count ?? 0;
            return new(AgreementFinding.NotEnough, Say(
                $"Too few checks of {method} to say anything: {count} where {thresholds.LeastPairs} are asked for."));
        }

        if (days < AgreementThresholds.LeastDays)
        {
            return new(AgreementFinding.NotEnough, Say(
                $"The {agreement.Count} checks of {method} are of {days} {(days == 1 ? "day" : "days")}: too few to say anything, as those of one day share its sun and its wind. Checks on {AgreementThresholds.LeastDays} different days are asked for."));
        }

        var (bias, interval, most) = (agreement.BiasKelvin, agreement.BiasIntervalKelvin, thresholds.MostBiasKelvin);
        var (accuracy, furthest) = (thresholds.ThermometerAccuracyKelvin, thresholds.MostDifferenceKelvin);
        var (lower, upper) = (agreement.LowerLimitIntervalKelvin, agreement.UpperLimitIntervalKelvin);
        var reads = Say($"{Start(method)} reads {Math.Abs(bias):F1} K {(bias < 0 ? "low" : "high")} on average ({interval.Low:F1} to {interval.High:F1} K) in {agreement.Count} checks");
        var limits = Say($"single readings differ by {agreement.LowerLimitKelvin:F1} to {agreement.UpperLimitKelvin:F1} K");

        if (interval.Low > most + accuracy || interval.High < -most - accuracy)
        {
            return new(AgreementFinding.Biased, Say(
                $"{reads}, more than the {most:F1} K allowed and the {accuracy:F1} K that the thermometer may be off itself; {limits}."));
        }

        if (lower.High < -furthest || upper.Low > furthest)
            return new(AgreementFinding.Scattered, Say($"{reads}; {limits}, further than the {furthest:F1} K allowed."));

        if (interval.Low > most || interval.High < -most)
        {
            return new(AgreementFinding.Undecided, Say(
                $"{reads}, more than the {most:F1} K allowed, but the thermometer may be off by {accuracy:F1} K itself. Check with another thermometer, or hold this one against melting ice."));
        }

        if (!(interval.Low >= -most && interval.High <= most))
        {
            return new(AgreementFinding.Undecided, Say(
                $"{reads}: whether that is more than the {most:F1} K allowed cannot be told yet. More checks, on other days, will."));
        }

        return lower.Low < -furthest || upper.High > furthest
            ? new(AgreementFinding.Undecided, Say(
                $"{reads}; {limits}: whether that is further than the {furthest:F1} K allowed cannot be told yet. More checks, on other days, will."))
            : new(AgreementFinding.Agrees, Say($"{reads}; {limits}: within what is allowed, as far as a thermometer good to {accuracy:F1} K can tell."));
    }

    private static string Start(string method) =>
        method.Length == 0 ? method : char.ToUpperInvariant(method[0]) + method[1..];

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
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
