using PavementWatch.Dashboards.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>What every answer says to the browser, and where requests that change something may come from.</summary>
internal static class SecurityHeaders
{
    private const string ContentSecurityPolicy =
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'none'";

    public static void UseSecurityHeaders(this IApplicationBuilder app)
    {
        // Known when all routes are mapped.
        var policy = new Lazy<string>(() => $"{ContentSecurityPolicy}; {app.ApplicationServices.GetRequiredService<PageAssets>().ScriptSources}");
        app.Use((http, next) => AnswerAsync(http, next, policy.Value));
    }

    private static async Task AnswerAsync(HttpContext http, RequestDelegate next, string policy)
    {
        var headers = http.Response.Headers;
        headers.ContentSecurityPolicy = policy;
        headers.XContentTypeOptions = "nosniff";
        headers.XFrameOptions = "DENY";
        // Links hold secrets; no other site may learn where a visitor came from.
        headers["Referrer-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "geolocation=(self), camera=(), microphone=()";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        if (http.Request.Path.StartsWithSegments("/api"))
            headers.CacheControl = "no-store";
        if (ChangesSomething(http.Request) && !IsOwnOrigin(http.Request))
        {
            await Results.Problem(
                statusCode: StatusCodes.Status403Forbidden,
                title: "Foreign origin",
                detail: $"The request came from a page of {http.Request.Headers.Origin}, expected one of {http.Request.Host}.")
                .ExecuteAsync(http);
            return;
        }

        await next(http);
    }

    private static bool ChangesSomething(HttpRequest request) =>
        !HttpMethods.IsGet(request.Method) && !HttpMethods.IsHead(request.Method) && !HttpMethods.IsOptions(request.Method);

    // Browsers name the origin with every such request; programs that are no browser carry no foreign cookies.
    private static bool IsOwnOrigin(HttpRequest request) =>
        request.Headers.Origin.ToString() is var origin
        && (origin.Length == 0
            || (Uri.TryCreate(origin, UriKind.Absolute, out var uri) && Uri.TryCreate($"{request.Scheme}://{request.Host}", UriKind.Absolute, out var own) && uri.Authority == own.Authority));
}
