using Microsoft.AspNetCore.Connections;
using Microsoft.AspNetCore.Http.Features;
using PavementWatch.Dashboards.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>Answers a file that is too large, or that found no room, with a sentence.</summary>
internal static class UploadLimits
{
    // What is read of a refused upload, so that a browser that does not listen while it sends hears the answer.
    private const long MostDrainedBytes = 32 << 20;

    public static void UseUploadLimits(this IApplicationBuilder app) => app.Use(async (http, next) =>
    {
        if (http.GetEndpoint()?.Metadata.GetMetadata<UploadLimitAttribute>()?.MostBytes is not { } most)
        {
            await next(http);
            return;
        }

        if (http.Request.ContentLength > most)
        {
            await RefuseAsync(http, most);
            return;
        }

        if (!http.Request.HasFormContentType)
        {
            await next(http);
            return;
        }

        try
        {
            // Kept with the request: who reads the form later gets this one.
            await http.Request.ReadFormAsync(http.RequestAborted);
        }
        catch (Exception e) when (http.RequestAborted.IsCancellationRequested || e is ConnectionResetException or OperationCanceledException or BadHttpRequestException { StatusCode: StatusCodes.Status400BadRequest })
        {
            // Whoever sent it gave up; the temporary file goes with the request.
            return;
        }
        catch (Exception e) when (e is InvalidDataException or BadHttpRequestException { StatusCode: StatusCodes.Status413PayloadTooLarge })
        {
            await RefuseAsync(http, most);
            return;
        }
        catch (IOException e) when (e is not BadHttpRequestException)
        {
            http.Response.Headers.Connection = "close";
            await PlainPage.WriteAsync(
                http, StatusCodes.Status507InsufficientStorage, "The server had no room for the file",
                $"It is kept in a temporary file while it is read, and that failed: {e.Message} Tell whoever runs the server.");
            return;
        }

        await next(http);
    });

    private static async Task RefuseAsync(HttpContext http, long most)
    {
        var size = http.Request.ContentLength is { } length ? $"has {(length + (1 << 20) - 1) >> 20} MiB" : "is larger";
        http.Response.Headers.Connection = "close";
        await PlainPage.WriteAsync(
            http, StatusCodes.Status413PayloadTooLarge, "The file is too large",
            $"It {size}, and this page takes {most >> 20} MiB. Cut it into parts, or ask whoever runs the server to use a command: backtest FILE takes any size, import checks FILE up to 100,000 checks.");
        await http.Response.CompleteAsync();
        if (http.Features.Get<IHttpMaxRequestBodySizeFeature>() is { IsReadOnly: false } limit)
            limit.MaxRequestBodySize = null;
        try
        {
            var rest = new byte[64 * 1024];
            for (long read = 0, more = 1; read < MostDrainedBytes && more > 0; read += more)
                more = await http.Request.Body.ReadAsync(rest, http.RequestAborted);
        }
        catch (Exception e) when (e is IOException or OperationCanceledException)
        {
            // They have heard enough.
        }
    }
}
