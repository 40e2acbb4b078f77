namespace PavementWatch.Dashboards.Checks;

/// <summary>What the ground was like when it was checked.</summary>
public enum CheckedGround
{
    /// <summary>Not said.</summary>
    Unknown = 0,

    /// <summary>Dry, in the sun.</summary>
    Sun,

    /// <summary>Dry, in shade.</summary>
    Shade,

    /// <summary>Wet: cooler than the offset knows.</summary>
    Wet,
}
