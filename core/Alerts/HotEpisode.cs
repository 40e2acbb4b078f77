namespace PavementWatch.Core.Alerts;

/// <summary>What walkers were told of a hot spell that is not over. It outlasts silence, and ends with the day that saw it last.</summary>
public enum HotEpisode
{
    /// <summary>Nothing.</summary>
    None = 0,

    /// <summary>Too hot, on an estimate or on readings in doubt, none of them good.</summary>
    Estimated,

    /// <summary>Too hot, on good readings.</summary>
    Measured,

    /// <summary>Too hot, on good readings, then silent until the estimate had eased: never called off, but the next time is news.</summary>
    Lapsed,
}
