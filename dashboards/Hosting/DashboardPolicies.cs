namespace PavementWatch.Dashboards.Hosting;

/// <summary>What the pages share with the server's doors.</summary>
public static class DashboardPolicies
{
    /// <summary>Whoever runs the walks: name of the policy and of the role.</summary>
    public const string Business = "Business";
}
