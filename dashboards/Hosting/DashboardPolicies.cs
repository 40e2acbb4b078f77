using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>Names of the policies that pages ask for; the host says who passes.</summary>
public static class DashboardPolicies
{
    /// <summary>Whoever runs the walks: name of the policy and of the role.</summary>
    public const string Business = nameof(Role.Business);

    /// <summary>Everybody who works for them: walkers, analysts, the business. Not owners.</summary>
    public const string Team = nameof(Team);

    /// <summary>Analysts and the business.</summary>
    public const string Analysts = nameof(Analysts);
}
