namespace PavementWatch.Dashboards.Hosting;

/// <summary>What the pages share with the server's doors.</summary>
public static class DashboardPolicies
{
    /// <summary>Whoever runs the walks: name of the policy and of the role.</summary>
    public const string Business = "Business";

    /// <summary>Everybody who works for them: walkers, analysts, the business. Not owners.</summary>
    public const string Team = "Team";

    /// <summary>Analysts and the business.</summary>
    public const string Analysts = "Analysts";

    /// <summary>Role of an analyst.</summary>
    public const string AnalystRole = "Analyst";

    /// <summary>Role of a walker.</summary>
    public const string WalkerRole = "Walker";
}
