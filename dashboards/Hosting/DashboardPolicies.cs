namespace PavementWatch.Dashboards.Hosting;

/// <summary>Names of the authorization policies the pages ask for. The server defines them.</summary>
public static class DashboardPolicies
{
    /// <summary>Whoever runs the walks.</summary>
    public const string Business = "business";
}
