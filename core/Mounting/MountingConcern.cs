namespace PavementWatch.Core.Mounting;

/// <summary>What may be wrong with a sensor's place.</summary>
public enum MountingConcern
{
    /// <summary>Nothing; the sentence only says what to look after.</summary>
    None = 0,

    /// <summary>The spot is so small that one stone or joint decides.</summary>
    SpotTooSmall,

    /// <summary>The spot is so large that several surfaces and shadows mix in it.</summary>
    SpotTooLarge,

    /// <summary>The sensor looks too flat over the ground.</summary>
    TooOblique,

    /// <summary>The foot of the pole, or its shadow, is in view.</summary>
    PoleInView,

    /// <summary>The sensor is within the reach of people.</summary>
    WithinReach,
}

/// <summary>One sentence of advice on a sensor's place.</summary>
/// <param name="Concern">What it is about.</param>
/// <param name="Text">What was found, and what to do.</param>
public sealed record MountingRemark(MountingConcern Concern, string Text);
