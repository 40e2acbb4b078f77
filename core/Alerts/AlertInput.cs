using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>What happens to a spot's state machine.</summary>
/// <param name="Now">The server's clock, UTC.</param>
public abstract record AlertInput(DateTimeOffset Now);

/// <summary>A reading, as it comes in: good, in doubt, rejected, or late.</summary>
/// <param name="Now">The server's clock, UTC.</param>
/// <param name="Reading">The reading. One as old as the silent span is history and changes nothing.</param>
public sealed record Measured(DateTimeOffset Now, Reading Reading) : AlertInput(Now);

/// <summary>What the fitted offset says, at every tick.</summary>
/// <param name="Now">The server's clock, UTC.</param>
/// <param name="Current">The estimate for now; it rules while the spot is silent.</param>
/// <param name="Ahead">Estimates for the time to come, in time order; they raise <see cref="AlertState.Rising"/>.</param>
public sealed record Estimated(DateTimeOffset Now, SurfaceEstimate Current, IReadOnlyList<SurfaceEstimate> Ahead) : AlertInput(Now)
{
    /// <summary>The time to come once more with the sun back, and without what was read since it eased; looked at before an all-clear. May be empty.</summary>
    public IReadOnlyList<SurfaceEstimate> SunBack { get; init; } = [];
}

/// <summary>Time has passed, and there is no estimate.</summary>
/// <param name="Now">The server's clock, UTC.</param>
public sealed record Tick(DateTimeOffset Now) : AlertInput(Now);
