using System.Globalization;

namespace PavementWatch.Core.Agreement;

/// <summary>What a comparison says of the checked method, with its reason in words.</summary>
/// <param name="Finding">The finding.</param>
/// <param name="Text">Why, in plain sentences with figures.</param>
public sealed record AgreementVerdict(AgreementFinding Finding, string Text)
{
    /// <summary>Judges a comparison.</summary>
    /// <param name="agreement">The comparison, or <c>null</c> when there were too few pairs.</param>
    /// <param name="thresholds">What the analyst asks for.</param>
    /// <param name="method">The checked method for people, e.g. <c>the sensor</c>.</param>
    /// <returns>The verdict. A bias is only called one when its whole confidence interval lies past the threshold.</returns>
    public static AgreementVerdict Of(MethodAgreement? agreement, AgreementThresholds thresholds, string method)
    {
        ArgumentNullException.ThrowIfNull(thresholds);
        if (agreement is null || agreement.Count < thresholds.LeastPairs)
        {
            var count = agreement?.Count ?? 0;
            return new(AgreementFinding.NotEnough, Say(
                $"Too few checks of {method} to say anything: {count} where {thresholds.LeastPairs} are asked for."));
        }

        var (bias, interval, most) = (agreement.BiasKelvin, agreement.BiasIntervalKelvin, thresholds.MostBiasKelvin);
        var reads = Say($"{Start(method)} reads {Math.Abs(bias):F1} K {(bias < 0 ? "low" : "high")} on average ({interval.Low:F1} to {interval.High:F1} K) in {agreement.Count} checks");
        var limits = Say($"single readings differ by {agreement.LowerLimitKelvin:F1} to {agreement.UpperLimitKelvin:F1} K");

        if (interval.Low > most || interval.High < -most)
            return new(AgreementFinding.Biased, Say($"{reads}, more than the {most:F1} K allowed; {limits}."));

        if (agreement.LowerLimitKelvin < -thresholds.MostDifferenceKelvin || agreement.UpperLimitKelvin > thresholds.MostDifferenceKelvin)
            return new(AgreementFinding.Scattered, Say($"{reads}; {limits}, further than the {thresholds.MostDifferenceKelvin:F1} K allowed."));

        if (interval.Low >= -most && interval.High <= most)
            return new(AgreementFinding.Agrees, Say($"{reads}; {limits}: within what is allowed."));

        return new(AgreementFinding.Undecided, Say(
            $"{reads}: whether that is more than the {most:F1} K allowed cannot be told yet. More checks, on other days, will."));
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
