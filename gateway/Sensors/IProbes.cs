namespace PavementWatch.Gateway.Sensors;

/// <summary>All probes of the gateway. Opens what is not open yet, and reopens what was unplugged.</summary>
internal interface IProbes : IDisposable
{
    /// <summary>Asks every probe once.</summary>
    /// <param name="now">The moment the samples are taken.</param>
    /// <returns>One sample a probe, in the order of the settings; a probe that failed has its reason.</returns>
    IReadOnlyList<ProbeSample> SampleAll(DateTimeOffset now);
}

/// <summary>What one probe said.</summary>
/// <param name="Probe">The probe's name in the settings.</param>
/// <param name="Kind">Which sensor it is.</param>
/// <param name="Spot">The spot it belongs to; <c>null</c> serves every spot of the gateway (air, light, supply).</param>
/// <param name="At">When it was asked.</param>
/// <param name="Outcome">Its values, or why there are none.</param>
internal sealed record ProbeSample(
    string Probe, ProbeKind Kind, Core.Readings.SpotId? Spot, DateTimeOffset At, ReadOutcome Outcome)
{
    /// <summary>What an infrared sensor sees; means nothing of another.</summary>
    public Core.Surfaces.InfraredBand Band { get; init; }
}
