using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>Says, with every answer, what a page of ours may do: load and run its own files, nothing inline, nothing from elsewhere.</summary>
internal sealed class SecurityHeaders : IStartupFilter
{
    private const string Policy =
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'none'";

    public Action<IApplicationBuilder> Configure(Action<IApplicationBuilder> next) => app =>
    {
        app.Use((context, following) =>
        {
            var headers = context.Response.Headers;
            headers.ContentSecurityPolicy = Policy;
            headers.XContentTypeOptions = "nosniff";
            headers["Referrer-Policy"] = "same-origin";
            headers["Permissions-Policy"] = "geolocation=(self), camera=(), microphone=()";
            return following(context);
        });
        next(app);
    };
}
