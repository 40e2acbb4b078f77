namespace PavementWatch.Core.Agreement;

/// <summary>What hand-held checks say of a spot: is it the sensor, the offset, or neither.</summary>
/// <param name="Blame">What is off.</param>
/// <param name="Sensor">The sensor against the checks.</param>
/// <param name="Estimate">The fitted offset's estimate against the checks.</param>
/// <param name="Text">What to do, in plain words.</param>
public sealed record SpotVerdict(Blame Blame, AgreementVerdict Sensor, AgreementVerdict Estimate, string Text)
{
    /// <summary>Puts both verdicts together. The offset learns from the sensor, so a wrong sensor makes both wrong.</summary>
    /// <param name="sensor">The sensor against the checks.</param>
    /// <param name="estimate">The estimate against the checks.</param>
    /// <returns>The verdict.</returns>
    public static SpotVerdict Of(AgreementVerdict sensor, AgreementVerdict estimate)
    {
        ArgumentNullException.ThrowIfNull(sensor);
        ArgumentNullException.ThrowIfNull(estimate);
        var (blame, text) = (sensor.Finding, estimate.Finding) switch
        {
            (AgreementFinding.Biased, AgreementFinding.Biased) => (Blame.Sensor,
                "The sensor reads wrong, and the offset has learned it. Clean or recalibrate the sensor, then refit from that day on."),
            (AgreementFinding.Biased, _) => (Blame.Sensor,
                "The sensor reads wrong, and the offset does not yet. Clean or recalibrate the sensor, and keep its readings since the change out of the fit."),
            (AgreementFinding.Scattered, _) => (Blame.Sensor,
                "The sensor is right on average and its single readings are not. Look at its mounting, its aim and the shade that moves over the spot, and check both thermometers at one place."),
            (AgreementFinding.Agrees, AgreementFinding.Biased or AgreementFinding.Scattered) => (Blame.Offset,
                "The sensor is right and the estimate is not. Refit the spot; if that does not help, look at what the model is not told: rain, watering, new shade."),
            (_, AgreementFinding.Biased or AgreementFinding.Scattered) => (Blame.Offset,
                "The estimate is off, and of the sensor too little is known. Check the sensor first, then refit."),
            (AgreementFinding.Agrees, AgreementFinding.Agrees) => (Blame.Nothing, "Sensor and estimate agree with the checks."),
            (AgreementFinding.Agrees, _) => (Blame.Nothing, "The sensor agrees with the checks; of the estimate too little is known yet."),
            (_, AgreementFinding.Agrees) => (Blame.Nothing, "The estimate agrees with the checks; of the sensor too little is known yet."),
            _ => (Blame.Unknown, "Too little is known yet. More checks, on other days and in sun and shade, will tell."),
        };
        return new SpotVerdict(blame, sensor, estimate, text);
    }
}

/// <summary>What is off at a spot.</summary>
public enum Blame
{
    /// <summary>Too little is known.</summary>
    Unknown = 0,

    /// <summary>Nothing that the checks can show.</summary>
    Nothing,

    /// <summary>The sensor, so recalibrate.</summary>
    Sensor,

    /// <summary>The fitted offset, so refit.</summary>
    Offset,
}
