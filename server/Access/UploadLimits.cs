using PavementWatch.Dashboards.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>Answers a file that is too large with a sentence, before any of it is read.</summary>
internal static class UploadLimits
{
    public static void UseUploadLimits(this IApplicationBuilder app) => app.Use(async (http, next) =>
    {
        var limit = http.GetEndpoint()?.Metadata.GetMetadata<UploadLimitAttribute>()?.MostBytes;
        if (limit is { } most && http.Request.ContentLength > most)
        {
            // The connection ends with the answer: nobody waits for the rest.
            http.Response.Headers.Connection = "close";
            await Results.Content(
                $"""
                <!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
                <title>PavementWatch: the file is too large</title>
                <h1>The file is too large</h1>
                <p>It has {http.Request.ContentLength / 1048576.0:F0} MiB, and this page takes {most / 1048576} MiB. Cut it into parts, or ask
                whoever runs the server to use the commands <code>import checks FILE</code> or <code>backtest FILE</code>.</p></html>
                """,
                "text/html; charset=utf-8",
                statusCode: StatusCodes.Status413PayloadTooLarge).ExecuteAsync(http);
            return;
        }

        await next(http);
    });
}
