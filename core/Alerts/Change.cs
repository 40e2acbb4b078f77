using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Alerts;

/// <summary>A step in the making: the memory so far, and what has been decided.</summary>
/// <param name="Memory">What to remember.</param>
/// <param name="Now">The moment of the step.</param>
internal sealed record Change(AlertMemory Memory, DateTimeOffset Now)
{
    private AlertState From { get; init; } = Memory.State;

    private AlertReason? Because { get; init; }

    private bool Notify { get; init; }

    private double? SurfaceCelsius { get; init; }

    private double? UpperCelsius { get; init; }

    private DateTimeOffset? ReachesAt { get; init; }

    private double? LimitBeforeCelsius { get; init; }

    /// <summary>Moves the spot. Staying where it stands with a new reason is a change too, and keeps its <c>Since</c>.</summary>
    public Change To(
        AlertState state, AlertReason because, bool notify = false,
        double? surfaceCelsius = null, double? upperCelsius = null, DateTimeOffset? reachesAt = null) => this with
        {
            Memory = Memory with { State = state, Since = state == Memory.State ? Memory.Since : Now },
            Because = because,
            Notify = notify,
            SurfaceCelsius = surfaceCelsius,
            UpperCelsius = upperCelsius,
            ReachesAt = reachesAt,
            LimitBeforeCelsius = because is AlertReason.LimitRaised or AlertReason.UnderRaisedLimit ? Memory.LimitBeforeCelsius : null,
        };

    /// <summary>Remembers more.</summary>
    public Change With(Func<AlertMemory, AlertMemory> remember) => this with { Memory = remember(Memory) };

    /// <summary>The finished step.</summary>
    public AlertStep Told(AlertRule rule) => new(
        Memory,
        Because is { } because
            ? new AlertDecision(From, Memory.State, because, Now, Notify, SurfaceCelsius)
            {
                Side = rule.Side,
                LimitCelsius = rule.Side == AlertSide.Cold ? rule.ColdLimitCelsius : rule.LimitCelsius,
                UpperCelsius = UpperCelsius,
                ReachesAt = ReachesAt,
                LimitBeforeCelsius = LimitBeforeCelsius,
                LimitChangedBy = LimitBeforeCelsius is null ? LimitChanger.Unknown : rule.ChangedBy,
                LastGoodAt = Memory.LastGoodAt,
            }
            : null);
}
