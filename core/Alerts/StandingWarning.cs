namespace PavementWatch.Core.Alerts;

/// <summary>What stands at a spot, whenever it began; somebody who comes to it has to hear of it. Of the cold each is turned over.</summary>
public enum StandingWarning
{
    /// <summary>Nothing.</summary>
    None = 0,

    /// <summary>About to be too hot.</summary>
    Rising,

    /// <summary>Too hot by good readings.</summary>
    TooHot,

    /// <summary>Too hot before, under the limit now and not called off.</summary>
    Easing,

    /// <summary>Not measured; too hot by the estimate, or by readings in doubt.</summary>
    Estimated,

    /// <summary>Too hot by good readings, not measured since, and not called off.</summary>
    SilentHot,
}
