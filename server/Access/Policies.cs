using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.StaticAssets;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Access;

/// <summary>Who may do what, by name.</summary>
internal static class Policies
{
    /// <summary>Everybody who works for the business: walkers, analysts, the business itself. Not owners.</summary>
    public const string Team = nameof(Team);

    /// <summary>Analysts and the business.</summary>
    public const string Analysts = nameof(Analysts);

    /// <summary>The business.</summary>
    public const string Business = nameof(Business);

    public static void Configure(AuthorizationOptions options)
    {
        options.AddPolicy(Team, p => p.RequireRole(nameof(Role.Walker), nameof(Role.Analyst), nameof(Role.Business)));
        options.AddPolicy(Analysts, p => p.RequireRole(nameof(Role.Analyst), nameof(Role.Business)));
        options.AddPolicy(Business, p => p.RequireRole(nameof(Role.Business)));
        // What says nothing asks for a sign-in; static files (scripts, icons, the service worker) are everybody's.
        options.FallbackPolicy = new AuthorizationPolicyBuilder()
            .RequireAssertion(c => c.User.Identity?.IsAuthenticated == true || IsStaticFile(c.Resource))
            .Build();
    }

    public static bool IsStaticFile(object? resource) =>
        (resource as HttpContext)?.GetEndpoint()?.Metadata.GetMetadata<StaticAssetDescriptor>() is not null;
}
