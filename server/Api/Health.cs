using Microsoft.AspNetCore.Diagnostics.HealthChecks;

namespace PavementWatch.Server.Api;

/// <summary>Whether the process lives, and whether it can do its work.</summary>
internal static class Health
{
    public static void MapHealth(this IEndpointRouteBuilder routes)
    {
        routes.MapHealthChecks("/health/live", new HealthCheckOptions { Predicate = _ => false }).AllowAnonymous();
        routes.MapHealthChecks("/health/ready", new HealthCheckOptions { ResponseWriter = WriteAsync }).AllowAnonymous();
    }

    private static Task WriteAsync(HttpContext http, Microsoft.Extensions.Diagnostics.HealthChecks.HealthReport report) =>
        http.Response.WriteAsJsonAsync(new
        {
            status = report.Status.ToString(),
            parts = report.Entries.ToDictionary(e => e.Key, e => new { status = e.Value.Status.ToString(), e.Value.Description }),
        });
}
