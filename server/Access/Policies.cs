using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.StaticAssets;
using PavementWatch.Dashboards.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>Who may do what, by name.</summary>
internal static class Policies
{
    /// <summary>Everybody who works for the business: walkers, analysts, the business itself. Not owners.</summary>
    public const string Team = DashboardPolicies.Team;

    /// <summary>Analysts and the business.</summary>
    public const string Analysts = DashboardPolicies.Analysts;

    /// <summary>The business.</summary>
    public const string Business = DashboardPolicies.Business;

    public static void Configure(AuthorizationOptions options)
    {
        options.AddPolicy(Team, p => p.RequireRole(nameof(Role.Walker), nameof(Role.Analyst), nameof(Role.Business)));
        options.AddPolicy(Analysts, p => p.RequireRole(nameof(Role.Analyst), nameof(Role.Business)));
        options.AddPolicy(Business, p => p.RequireRole(nameof(Role.Business)));
        // What says nothing asks for a sign-in, but for what must be everybody's.
        options.FallbackPolicy = new AuthorizationPolicyBuilder()
            .RequireAssertion(c => c.User.Identity?.IsAuthenticated == true || IsEverybodys(c.Resource as HttpContext))
            .Build();
    }

    // Scripts, icons, the service worker.
    private static bool IsEverybodys(HttpContext? http) =>
        http?.GetEndpoint()?.Metadata.GetMetadata<StaticAssetDescriptor>() is not null;
}
