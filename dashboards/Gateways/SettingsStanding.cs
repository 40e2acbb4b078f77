namespace PavementWatch.Dashboards.Gateways;

/// <summary>Whether a gateway uses the limits set here.</summary>
public enum SettingsStanding
{
    /// <summary>It has not said so yet.</summary>
    Waiting = 0,

    /// <summary>It said that they are in use.</summary>
    InUse,

    /// <summary>It refused them, and said why.</summary>
    Refused,
}
