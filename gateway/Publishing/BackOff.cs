namespace PavementWatch.Gateway.Publishing;

/// <summary>How long to wait after failures in a row: doubling up to a longest pause, and scattered.</summary>
/// <remarks>Scattered, so that a town's gateways do not all come back in the same instant after the broker was away.</remarks>
/// <param name="first">Pause after the first failure, before scattering.</param>
/// <param name="longest">Longest pause.</param>
/// <param name="random">Source of the scattering.</param>
internal sealed class BackOff(TimeSpan first, TimeSpan longest, Random random)
{
    private int _failures;

    /// <summary>The pause after one more failure: between half and all of min(longest, first · 2ⁿ).</summary>
    public TimeSpan Next()
    {
        var full = Math.Min(longest.TotalSeconds, first.TotalSeconds * Math.Pow(2, Math.Min(_failures++, 60)));
        return TimeSpan.FromSeconds(full * (0.5 + (random.NextDouble() / 2)));
    }

    /// <summary>Something worked: the next failure is a first one again.</summary>
    public void Reset() => _failures = 0;
}
