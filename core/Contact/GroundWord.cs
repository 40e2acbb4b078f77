namespace PavementWatch.Core.Contact;

/// <summary>The word for a spot's surface, the same everywhere; from cold to hot.</summary>
public enum GroundWord
{
    /// <summary>Nothing is known; never shown as cool.</summary>
    Unknown = 0,

    /// <summary>Below <see cref="GroundWords.BitterBelowCelsius"/>: frost can injure pads.</summary>
    Bitter,

    /// <summary>From there to <see cref="GroundWords.FreezingUpToCelsius"/>, inclusive: wet ground is icy.</summary>
    Freezing,

    /// <summary>From there to <see cref="GroundWords.ComfortableFromCelsius"/>.</summary>
    Cold,

    /// <summary>From there to <see cref="GroundWords.WarmFromCelsius"/>.</summary>
    Comfortable,

    /// <summary>From there to the limit.</summary>
    Warm,

    /// <summary>At or over the spot's limit.</summary>
    TooHot,

    /// <summary>At or over <see cref="GroundWords.BurnsFromCelsius"/>.</summary>
    BurnsInSeconds,
}
