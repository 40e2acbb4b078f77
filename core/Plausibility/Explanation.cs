namespace PavementWatch.Core.Plausibility;

/// <summary>Why a reading that looked too cool is believed. Counted.</summary>
public enum Explanation
{
    /// <summary>Nothing had to be explained, or nothing explains it.</summary>
    None = 0,

    /// <summary>It is back where it was, or where it is expected to be.</summary>
    Back,

    /// <summary>The air fell, as at a front or a shower.</summary>
    AirFell,

    /// <summary>The sky has gone dull, as measured.</summary>
    SkyDull,

    /// <summary>A neighbour of the site went the same way.</summary>
    NeighbourAgrees,

    /// <summary>It was wet, and the time is over in which that says nothing.</summary>
    WasWet,

    /// <summary>Nobody could be asked, and it has held for longer than the ground needs to cool.</summary>
    HasHeld,
}
