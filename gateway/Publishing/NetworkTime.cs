namespace PavementWatch.Gateway.Publishing;

/// <summary>The clock of the network's pauses: physical time, also where a simulated day runs faster than life.</summary>
internal sealed record NetworkTime(TimeProvider Provider);
