namespace PavementWatch.Core.Alerts;

/// <summary>Where a spot stands. The zero is the cautious one.</summary>
public enum AlertState
{
    /// <summary>No good reading for three intervals, or none yet: the estimate rules, by the upper end of its interval.</summary>
    Silent = 0,

    /// <summary>Under the limit and not about to pass it.</summary>
    Clear,

    /// <summary>Forecast or trend reaches the limit within 30 minutes.</summary>
    Rising,

    /// <summary>At or over the limit.</summary>
    TooHot,

    /// <summary>Under the limit by the easing margin, not yet for long enough.</summary>
    Easing,
}
