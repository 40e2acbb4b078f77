namespace PavementWatch.Core.Surfaces;

/// <summary>Who last changed a limit of a spot; a role, for walkers need no name.</summary>
public enum LimitChanger
{
    /// <summary>Nobody, or nobody knows.</summary>
    Unknown = 0,

    /// <summary>The business, on its pages.</summary>
    Business,

    /// <summary>The operator, by a command.</summary>
    Operator,
}
