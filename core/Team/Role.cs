namespace PavementWatch.Core.Team;

/// <summary>What somebody who works for the business may do. Owners of dogs have no role: they hold a link.</summary>
public enum Role
{
    /// <summary>Sees the spots and gets their alerts.</summary>
    Walker = 0,

    /// <summary>Also checks fits and enters spot checks.</summary>
    Analyst,

    /// <summary>Also changes spots, gateways, people.</summary>
    Business,
}
