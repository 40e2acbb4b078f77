using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Alerts;

/// <summary>A change of a spot, and why. Also recorded when nobody is told.</summary>
/// <param name="From">Where it stood.</param>
/// <param name="To">Where it stands; the same while a silent spot's estimate changes.</param>
/// <param name="Because">Why.</param>
/// <param name="At">When it was decided, UTC.</param>
/// <param name="Notify">Whether walkers are told: only what changes what they were told before.</param>
/// <param name="SurfaceCelsius">[°C] The good reading, the reading in doubt, or the estimate it rests on; <c>null</c> for silence.</param>
public sealed record AlertDecision(
    AlertState From, AlertState To, AlertReason Because, DateTimeOffset At, bool Notify, double? SurfaceCelsius)
{
    /// <summary>Whether it is of heat or of cold; of the cold <see cref="AlertState.TooHot"/> means at or under its limit.</summary>
    public AlertSide Side { get; init; }

    /// <summary>[°C] The limit that held.</summary>
    public double LimitCelsius { get; init; }

    /// <summary>[°C] The estimate's upper end, where an estimate decided; of the cold its lower end.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>When the limit is expected to be reached, UTC, where that decided; under a cloud, when full sun from now on would reach it at the soonest.</summary>
    public DateTimeOffset? ReachesAt { get; init; }

    /// <summary>[min] How long after the decision the limit is expected to be reached, rounded up; 0 for at any moment.</summary>
    public int LeadMinutes => ReachesAt is { } at && at > At ? (int)Math.Ceiling((at - At).TotalMinutes) : 0;

    /// <summary>[°C] The limit before it was raised, that of the cold before it was lowered, where that decided.</summary>
    public double? LimitBeforeCelsius { get; init; }

    /// <summary>Who did that.</summary>
    public LimitChanger LimitChangedBy { get; init; }

    /// <summary>Of the cold: whether it is known that the ground may not be icy, see <see cref="Contact.IceMemory"/>. Not kept with the change: afterwards nobody knows.</summary>
    public bool HasNoIce { get; init; }

    /// <summary>When the last good reading was taken, UTC, where there was one.</summary>
    public DateTimeOffset? LastGoodAt { get; init; }

    /// <summary>Reasons that tell that a hot spell is over, or that one that was told to be near does not come.</summary>
    public static IReadOnlyList<AlertReason> AllClears { get; } =
        [AlertReason.UnderLongEnough, AlertReason.EstimateUnderLongEnough, AlertReason.UnderRaisedLimit, AlertReason.RiseCalledOff];

    /// <summary>Whether a reason tells that the limit is about to be passed.</summary>
    /// <param name="because">The reason.</param>
    public static bool IsRise(AlertReason because) => because is AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit;

    /// <summary>Whether this tells that a hot spell is over, or does not come.</summary>
    public bool IsOver => AllClears.Contains(Because);

    /// <summary>Whether this warns: the ground is, may be or will be too hot.</summary>
    public bool IsWarning => Warns(Because);

    /// <summary>Whether a change for a reason warns.</summary>
    /// <param name="because">The reason.</param>
    /// <returns>Whether it says that the ground is, may be or will be too hot.</returns>
    public static bool Warns(AlertReason because) => because is AlertReason.ReadingsOverLimit or AlertReason.OverLimitAgain
        or AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit
        or AlertReason.EstimateOverLimit or AlertReason.DoubtfulOverLimit
        or AlertReason.ReadingsExtreme or AlertReason.EstimateExtreme
        or AlertReason.ReadingsFreezing or AlertReason.EstimateFreezing;
}
