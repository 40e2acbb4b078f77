namespace PavementWatch.Core.Agreement;

/// <summary>What hand-held checks say of a spot: is it the sensor, the offset, or neither.</summary>
/// <param name="Blame">What is off.</param>
/// <param name="Sensor">The sensor against the checks.</param>
/// <param name="Estimate">The fitted offset's estimate against the checks.</param>
public sealed record SpotVerdict(Blame Blame, AgreementVerdict Sensor, AgreementVerdict Estimate)
{
    /// <summary>Puts both verdicts together. The offset learns from the sensor, so a wrong sensor makes both wrong.</summary>
    /// <param name="sensor">The sensor against the checks.</param>
    /// <param name="estimate">The estimate against the checks.</param>
    /// <returns>The verdict.</returns>
    public static SpotVerdict Of(AgreementVerdict sensor, AgreementVerdict estimate)
    {
        ArgumentNullException.ThrowIfNull(sensor);
        ArgumentNullException.ThrowIfNull(estimate);
        var blame = (sensor.Finding, estimate.Finding) switch
        {
            (AgreementFinding.Biased or AgreementFinding.Scattered, _) => Blame.Sensor,
            (_, AgreementFinding.Biased or AgreementFinding.Scattered) => Blame.Offset,
            (AgreementFinding.Agrees, _) or (_, AgreementFinding.Agrees) => Blame.Nothing,
            _ => Blame.Unknown,
        };
        return new SpotVerdict(blame, sensor, estimate);
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
