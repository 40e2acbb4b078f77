using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Access;

namespace PavementWatch.Server.Api;

/// <summary>Spot checks as a file.</summary>
internal static class ChecksApi
{
    public static void MapChecks(this IEndpointRouteBuilder routes) =>
        routes.MapGet("/checks/export.csv", ExportAsync).RequireAuthorization(Policies.Team).ExcludeFromDescription();

    private static async Task ExportAsync(ISpotChecks checks, HttpContext http)
    {
        http.Response.ContentType = "text/csv; charset=utf-8";
        http.Response.Headers.CacheControl = "no-store";
        http.Response.Headers.ContentDisposition = "attachment; filename=spot-checks.csv";
        await using var writer = new StreamWriter(http.Response.Body) { NewLine = "\r\n" };
        await checks.ExportAsync(writer, spot: null, http.RequestAborted);
    }
}
