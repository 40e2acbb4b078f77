namespace PavementWatch.Dashboards.Faults;

/// <summary>What of the running service does not work now, for the business to mend.</summary>
public interface IStandingFaults
{
    /// <summary>The oldest first; empty when all works.</summary>
    IReadOnlyList<StandingFault> All();
}

/// <summary>A fault that stands.</summary>
/// <param name="Words">Where, what was found, what was expected, and the remedy.</param>
/// <param name="Since">When it began, UTC.</param>
public sealed record StandingFault(string Words, DateTimeOffset Since);

/// <summary>A host that does not look after itself has no faults to show.</summary>
internal sealed class NoFaults : IStandingFaults
{
    public IReadOnlyList<StandingFault> All() => [];
}
