using Microsoft.AspNetCore.Http;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>The status of a page that has something to say about it.</summary>
internal static class PageStatus
{
    /// <summary>Sets it at the last moment: the framework throws away what a component wrote when it sees a 404 earlier.</summary>
    public static void Set(HttpContext? context, int status) =>
        context?.Response.OnStarting(() =>
        {
            context.Response.StatusCode = status;
            return Task.CompletedTask;
        });
}
