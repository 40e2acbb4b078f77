using System.Globalization;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Checks;

/// <summary>What checks say of a sensor and its estimate, in plain sentences with figures.</summary>
public static class VerdictTexts
{
    /// <summary>Why a comparison says what it says.</summary>
    /// <param name="verdict">The verdict.</param>
    /// <param name="method">What was checked, e.g. <c>the sensor</c>.</param>
    /// <param name="unit">Who reads it wants this.</param>
    public static string Of(AgreementVerdict verdict, string method, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(verdict);
        ArgumentException.ThrowIfNullOrEmpty(method);
        var (asked, count) = (verdict.Thresholds, verdict.Agreement?.Count ?? 0);
        if (verdict is not { Because: not AgreementReason.TooFewChecks, Agreement: { } agreement })
            return Say($"Too few checks of {method} to say anything: {count} where {asked.LeastPairs} are asked for.");
        if (verdict.Because == AgreementReason.TooFewDays)
            return Say($"The {count} checks of {method} are of {verdict.Days} {(verdict.Days == 1 ? "day" : "days")}: too few to say anything, as those of one day share its sun and its wind. Checks on {AgreementThresholds.LeastDays} different days are asked for.");

        string Size(double kelvin) => Differences.Size(kelvin, unit);
        var (bias, most) = (agreement.BiasKelvin, Size(asked.MostBiasKelvin));
        var (accuracy, furthest) = (Size(asked.ThermometerAccuracyKelvin), Size(asked.MostDifferenceKelvin));
        var reads = Say($"{char.ToUpperInvariant(method[0])}{method[1..]} reads {Size(Math.Abs(bias))} {(bias < 0 ? "low" : "high")} on average ({Between(agreement.BiasIntervalKelvin, unit, inBrackets: true)}) in {count} checks");
        var limits = $"single readings differ by {Between(new Interval(agreement.LowerLimitKelvin, agreement.UpperLimitKelvin), unit)}";
        return verdict.Because switch
        {
            AgreementReason.BiasTooLarge => $"{reads}, more than the {most} allowed and the {accuracy} that the thermometer may be off itself; {limits}.",
            AgreementReason.LimitsTooFar => $"{reads}; {limits}, further than the {furthest} allowed whatever the thermometer is off itself.",
            AgreementReason.BiasMayBeTheThermometers => $"{reads}, more than the {most} allowed, but the thermometer may be off by {accuracy} itself. Check with another thermometer, or hold this one against melting ice.",
            AgreementReason.LimitsMayBeTheThermometers => $"{reads}; {limits}, further than the {furthest} allowed, but the thermometer may be off by {accuracy} itself. Check with another thermometer, or hold this one against melting ice.",
            AgreementReason.BiasNotSure => $"{reads}: whether that is more than the {most} allowed cannot be told yet. More checks, on other days, will.",
            AgreementReason.LimitsNotSure => $"{reads}; {limits}: whether that is further than the {furthest} allowed cannot be told yet. More checks, on other days, will.",
            _ => $"{reads}; {limits}: within what is allowed, as far as a thermometer good to {accuracy} can tell.",
        };
    }

    /// <summary>What to do about a spot.</summary>
    public static string Of(SpotVerdict verdict)
    {
        ArgumentNullException.ThrowIfNull(verdict);
        return (verdict.Sensor.Finding, verdict.Estimate.Finding) switch
        {
            (AgreementFinding.Biased, AgreementFinding.Biased) =>
                "The sensor reads wrong, and the offset has learned it. Clean or recalibrate the sensor, then refit from that day on.",
            (AgreementFinding.Biased, _) =>
                "The sensor reads wrong, and the offset does not yet. Clean or recalibrate the sensor, and keep its readings since the change out of the fit.",
            (AgreementFinding.Scattered, _) =>
                "The sensor is right on average and its single readings are not. Look at its mounting, its aim and the shade that moves over the spot, and check both thermometers at one place.",
            (AgreementFinding.Agrees, AgreementFinding.Biased or AgreementFinding.Scattered) =>
                "The sensor is right and the estimate is not. Refit the spot; if that does not help, look at what the model is not told: rain, watering, new shade.",
            (_, AgreementFinding.Biased or AgreementFinding.Scattered) =>
                "The estimate is off, and of the sensor too little is known. Check the sensor first, then refit.",
            (AgreementFinding.Agrees, AgreementFinding.Agrees) => "Sensor and estimate agree with the checks.",
            (AgreementFinding.Agrees, _) => "The sensor agrees with the checks; of the estimate too little is known yet.",
            (_, AgreementFinding.Agrees) => "The estimate agrees with the checks; of the sensor too little is known yet.",
            _ => "Too little is known yet. More checks, on other days and in sun and shade, will tell.",
        };
    }

    /// <summary>How to put a sensor right.</summary>
    public static string Of(Recalibration recalibration, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(recalibration);
        string Figure(double kelvin) => Differences.Figure(kelvin, unit, "0.0");
        return recalibration switch
        {
            { Kind: RecalibrationKind.TooFewChecks } or { Agreement: null } =>
                Say($"Too few checks to correct the sensor by: {recalibration.Checks} where {recalibration.LeastChecks} are asked for."),
            { Kind: RecalibrationKind.None, Agreement: { } agreement } =>
                $"The sensor's bias of {Differences.Size(agreement.BiasKelvin, unit)} may be chance; there is nothing to correct.",
            { Kind: RecalibrationKind.Implausible } =>
                Say($"Only a gain of {recalibration.NeededGain:F2} with {Differences.Signed(recalibration.NeededOffsetKelvin, unit)} would put the sensor right, and no sensor is that wrong. Look at its aim, its lens and the surface below it, and at the emissivity set on both thermometers."),
            { Agreement: { } agreement } =>
                $"To put the sensor right, {What(recalibration, unit)}: on these {recalibration.Checks} checks the typical difference falls from {Figure(agreement.RmseKelvin)} to {Figure(recalibration.RemainingKelvin)} {Differences.Symbol(unit)}. Clean the lens and check again first.",
        };
    }

    // A gain is one of readings in °C, as the gateway takes them, whoever reads this.
    private static string What(Recalibration recalibration, TemperatureUnit unit) => recalibration.Kind == RecalibrationKind.Offset
        ? $"add {Differences.Signed(recalibration.OffsetKelvin, unit)} to the sensor"
        : Say($"take {recalibration.Gain:F3} times the sensor's reading in °C and add {recalibration.OffsetKelvin:+0.0;-0.0} K");

    private static string Between(Interval kelvin, TemperatureUnit unit, bool inBrackets = false)
    {
        var inKelvin = Say($"{kelvin.Low:F1} to {kelvin.High:F1} K");
        var inFahrenheit = Say($"{Differences.In(kelvin.Low, TemperatureUnit.Fahrenheit):F1} to {Differences.In(kelvin.High, TemperatureUnit.Fahrenheit):F1} °F");
        return inBrackets && unit == TemperatureUnit.Both ? $"{inKelvin}, {inFahrenheit}" : Temperatures.InSentence(inKelvin, inFahrenheit, unit);
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
