namespace PavementWatch.Core.Contact;

/// <summary>The word for a spot's surface, the same everywhere.</summary>
public enum HeatWord
{
    /// <summary>Nothing is known; never shown as cool.</summary>
    Unknown = 0,

    /// <summary>Below <see cref="HeatWords.WarmFromCelsius"/>.</summary>
    Comfortable,

    /// <summary>From there to the limit.</summary>
    Warm,

    /// <summary>At or over the spot's limit.</summary>
    TooHot,

    /// <summary>At or over <see cref="HeatWords.BurnsFromCelsius"/>.</summary>
    BurnsInSeconds,
}
