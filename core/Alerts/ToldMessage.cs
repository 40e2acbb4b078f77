namespace PavementWatch.Core.Alerts;

/// <summary>What became of a message of one change to one device.</summary>
public enum ToldMessage
{
    /// <summary>There was none.</summary>
    None = 0,

    /// <summary>It waits to be sent.</summary>
    Waiting,

    /// <summary>It was taken.</summary>
    Sent,

    /// <summary>It was too old before anybody took it.</summary>
    Expired,

    /// <summary>It was taken, and the device had not said that it showed it when it ceased to be news. It may be said once more.</summary>
    Unshown,

    /// <summary>It was refused for good, or newer news took its place.</summary>
    Ended,
}
