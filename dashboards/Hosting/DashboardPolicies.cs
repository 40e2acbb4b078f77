namespace PavementWatch.Dashboards.Hosting;

/// <summary>Names the pages share with the server's doors: one policy they ask for, one role they look at.</summary>
public static class DashboardPolicies
{
    /// <summary>Whoever runs the walks.</summary>
    public const string Business = "Business";

    /// <summary>Role of somebody who came by an owner's link: sees days of spots, nothing to press.</summary>
    public const string OwnerRole = "Owner";
}
