using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors;

/// <summary>What came of asking a probe: a value, or why there is none. Never the previous value.</summary>
internal abstract record ReadOutcome
{
    private ReadOutcome()
    {
    }

    /// <summary>Every check byte, flag and range was in order.</summary>
    /// <param name="Values">What was measured.</param>
    internal sealed record Measured(ProbeValues Values) : ReadOutcome;

    /// <summary>No value this time.</summary>
    /// <param name="Reason">Why, to be counted.</param>
    /// <param name="Detail">Where, what was found, what was expected, and the remedy.</param>
    internal sealed record Rejected(RejectReason Reason, string Detail) : ReadOutcome;
}
