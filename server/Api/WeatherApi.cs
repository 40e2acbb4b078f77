using System.Net.Mime;
using System.Text;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Mvc;
using PavementWatch.Server.Access;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Tables;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Api;

/// <summary>What became of weather that was sent.</summary>
/// <param name="Site">Whose it is; empty for the whole business.</param>
/// <param name="Kind"><c>observed</c> or <c>forecast</c>.</param>
/// <param name="IssuedAt">When the forecast was made; <c>null</c> for what was observed.</param>
/// <param name="Read">Times sent.</param>
/// <param name="Added">Times that were new.</param>
/// <param name="Changed">Times whose values are others now.</param>
/// <param name="Remarks">What was mended on the way.</param>
internal sealed record WeatherAnswer(
    string Site, string Kind, DateTimeOffset? IssuedAt, int Read, int Added, int Changed, IReadOnlyList<string> Remarks);

/// <summary>Weather of a site or of the whole business, sent by the business's own programs.</summary>
internal static class WeatherApi
{
    /// <summary>Most of a request: about 40,000 rows.</summary>
    public const int MostBytes = 2 * 1024 * 1024;

    private const string Csv = "text/csv";

    public static void MapWeather(this IEndpointRouteBuilder routes)
    {
        // PUT with these content types cannot be sent by a form of another site, and a script of one is refused by the browser.
        var api = routes.MapGroup("/api/weather").WithTags("Weather").RequireAuthorization(Policies.Analysts)
            .WithMetadata(new RequestSizeLimitAttribute(MostBytes));
        foreach (var route in new[] { "", "/{site}" })
        {
            api.MapPut(route, PutAsync)
                .Accepts<WeatherBody>(MediaTypeNames.Application.Json, Csv)
                .ProducesProblem(StatusCodes.Status400BadRequest)
                .ProducesProblem(StatusCodes.Status404NotFound)
                .ProducesProblem(StatusCodes.Status413PayloadTooLarge)
                .ProducesProblem(StatusCodes.Status415UnsupportedMediaType);
        }
    }

    private static async Task<Results<Ok<WeatherAnswer>, ProblemHttpResult>> PutAsync(
        HttpRequest request, WeatherStore store, WeatherIntake intake, TimeProvider time, CancellationToken cancellationToken,
        string? site = null, string? kind = null, string? issued = null)
    {
        if (store.FindSite(site) is not { } known)
            return Problem(StatusCodes.Status404NotFound, $"there is no site '{site}'; {WeatherCommands.Known(store)}");
        if (kind is not (null or "observed" or "forecast"))
            return Problem(StatusCodes.Status400BadRequest, $"kind is '{kind}', expected observed or forecast");
        var issuedAt = time.GetUtcNow();
        if (issued is not null && !TableTime.TryRead(issued, out issuedAt))
            return Problem(StatusCodes.Status400BadRequest, $"issued is '{issued}', expected a time with its zone like 2026-07-14T06:00:00Z");
        if (await ReadAsync(request, cancellationToken) is not { } text)
            return Problem(StatusCodes.Status413PayloadTooLarge, $"more than {MostBytes / 1024 / 1024} MiB; send it in parts, or use the command: import weather FILE");

        var receipt = await intake.TakeAsync(
            WeatherIntake.Read(new StringReader(text)), known, kind == "forecast" ? WeatherKind.Forecast : WeatherKind.Observed, issuedAt, cancellationToken);
        return receipt switch
        {
            StoredWeather { Origin: var origin, Stored: var stored } taken => TypedResults.Ok(new WeatherAnswer(
                origin.Site,
                origin.Kind == WeatherKind.Forecast ? "forecast" : "observed",
                origin.Kind == WeatherKind.Forecast ? origin.IssuedAt : null,
                stored.Read, stored.Added, stored.Changed, taken.Remarks)),
            RefusedWeather refused => Problem(StatusCodes.Status400BadRequest, $"{refused.Fault}. Nothing was stored."),
            _ => throw new InvalidOperationException($"no answer for {receipt}"),
        };
    }

    /// <summary>The body; <c>null</c> when it is too large.</summary>
    private static async Task<string?> ReadAsync(HttpRequest request, CancellationToken cancellationToken)
    {
        if (request.ContentLength > MostBytes)
        {
            // The connection ends with the answer: nobody waits for the rest.
            request.HttpContext.Response.Headers.Connection = "close";
            return null;
        }

        try
        {
            using var reader = new StreamReader(request.Body, Encoding.UTF8);
            return await reader.ReadToEndAsync(cancellationToken);
        }
        catch (BadHttpRequestException e) when (e.StatusCode == StatusCodes.Status413PayloadTooLarge)
        {
            return null;
        }
    }

    private static ProblemHttpResult Problem(int status, string detail) =>
        TypedResults.Problem(detail, statusCode: status, title: "The weather was not taken");
}
