using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Gpio;

/// <summary>What a self-check found.</summary>
/// <param name="Probes">How many probes were asked.</param>
/// <param name="Faults">Why some gave nothing.</param>
internal sealed record SelfCheckResult(int Probes, IReadOnlyList<string> Faults)
{
    /// <summary>The result as a sentence for log and status.</summary>
    public override string ToString() => Faults.Count == 0
        ? $"self-check: all {Probes} probes answer"
        : $"self-check: {Faults.Count} of {Probes} probes failed: {string.Join(" | ", Faults)}";
}

/// <summary>Asks every probe three times and names those that failed all three.</summary>
internal static class SelfCheck
{
    private const int Rounds = 3;

    /// <summary>Runs it.</summary>
    /// <param name="probes">The probes.</param>
    /// <param name="now">The moment.</param>
    public static SelfCheckResult Run(IProbes probes, DateTimeOffset now)
    {
        var rounds = Enumerable.Range(0, Rounds).Select(_ => probes.SampleAll(now)).ToList();
        var last = rounds[^1];
        var faults = last
            .Where((_, i) => rounds.All(r => r[i].Outcome is ReadOutcome.Rejected))
            .Select(s => ((ReadOutcome.Rejected)s.Outcome).Detail);
        return new SelfCheckResult(last.Count, [.. faults]);
    }
}
