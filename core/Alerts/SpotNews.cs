using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>News of one spot, of heat or of cold, that waits to be told.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="State">Where its alert stands with it.</param>
/// <param name="IsOver">Whether it tells that a spell is over.</param>
public sealed record SpotNews(SpotId Spot, AlertState State, bool IsOver);
