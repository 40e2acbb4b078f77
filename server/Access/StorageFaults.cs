using System.Data.Common;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Access;

/// <summary>Answers with words where the store or the registry does not: 503, a page for browsers, problem details for programs.</summary>
internal sealed class StorageFaults(ILogger<StorageFaults> logger) : IExceptionHandler
{
    private const string Heading = "Not available just now";

    private const string Text =
        "What is kept here cannot be read or written just now. What you saw before may be old: feel the ground before you walk. "
        + "The business page says what is wrong and what to do.";

    public async ValueTask<bool> TryHandleAsync(HttpContext httpContext, Exception exception, CancellationToken cancellationToken)
    {
        if (exception is not (ReadingStoreException or DbException or DbUpdateException))
            return false;
        logger.NotAnswered(httpContext.Request.Method, exception.GetBaseException().Message);
        httpContext.Response.Headers.RetryAfter = "60";
        if (PlainPage.IsForBrowser(httpContext))
            await PlainPage.WriteAsync(httpContext, StatusCodes.Status503ServiceUnavailable, Heading, Text);
        else
            await Results.Problem(statusCode: StatusCodes.Status503ServiceUnavailable, title: Heading, detail: Text).ExecuteAsync(httpContext);
        return true;
    }
}
