namespace PavementWatch.Core.Alerts;

/// <summary>What one input made of a spot.</summary>
/// <param name="Memory">What to remember from here on.</param>
/// <param name="Decision">What changed, or <c>null</c> when nothing did.</param>
public sealed record AlertStep(AlertMemory Memory, AlertDecision? Decision);
