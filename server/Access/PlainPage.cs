using System.Net;

namespace PavementWatch.Server.Access;

/// <summary>A page of one sentence, for answers that no page of the product gives.</summary>
internal static class PlainPage
{
    /// <summary>Writes it.</summary>
    /// <param name="http">The request.</param>
    /// <param name="status">HTTP status.</param>
    /// <param name="heading">What happened.</param>
    /// <param name="text">What to do about it; plain text.</param>
    /// <param name="wayBack">Whether a link to the first page stands beneath.</param>
    /// <param name="more">HTML between text and link.</param>
    public static Task WriteAsync(HttpContext http, int status, string heading, string text, bool wayBack = true, string more = "")
    {
        http.Response.Headers.CacheControl = "no-store";
        return Results.Content(
            $"""
            <!doctype html>
            <html lang="en">
            <head>
            <meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
            <title>{WebUtility.HtmlEncode(heading)} · PavementWatch</title>
            <link rel="icon" href="/icons/icon.svg" type="image/svg+xml">
            <link rel="stylesheet" href="/css/app.css">
            </head>
            <body><main>
            <h1>{WebUtility.HtmlEncode(heading)}</h1>
            <p>{WebUtility.HtmlEncode(text)}</p>
            {more}
            {(wayBack ? "<p><a class=\"button\" href=\"/\">To the spots</a></p>" : "")}
            </main></body>
            </html>
            """,
            "text/html; charset=utf-8",
            statusCode: status).ExecuteAsync(http);
    }

    /// <summary>Gives an answer without content words: problem details under <c>/api</c>, a page for browsers elsewhere.</summary>
    public static void UseWordsForEmptyAnswers(this IApplicationBuilder app)
    {
        app.UseWhen(http => http.Request.Path.StartsWithSegments("/api"), api => api.UseStatusCodePages(
            empty => Results.Problem(statusCode: empty.HttpContext.Response.StatusCode).ExecuteAsync(empty.HttpContext)));
        app.UseWhen(IsForBrowser, pages => pages.UseStatusCodePages(empty =>
        {
            var (heading, text) = Words(empty.HttpContext.Response.StatusCode);
            return WriteAsync(empty.HttpContext, empty.HttpContext.Response.StatusCode, heading, text);
        }));
    }

    /// <summary>Whether a person looks at the answer.</summary>
    public static bool IsForBrowser(HttpContext http) =>
        !http.Request.Path.StartsWithSegments("/api") && http.Request.Headers.Accept.ToString().Contains("text/html", StringComparison.Ordinal);

    private static (string Heading, string Text) Words(int status) => status switch
    {
        StatusCodes.Status404NotFound => ("There is no such page", "The address is mistyped, or what it led to is gone."),
        StatusCodes.Status405MethodNotAllowed => ("This address takes nothing", "Something was sent to a page that only shows. Open it again and use its own buttons."),
        StatusCodes.Status429TooManyRequests => ("Too many requests", "Wait a minute and try again."),
        _ => ("That did not work", $"The server answered {status}. Go back and try again; when it stays so, tell whoever runs the server."),
    };
}
