using Microsoft.AspNetCore.Http.HttpResults;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Access;
using PavementWatch.Server.Gateways;

namespace PavementWatch.Server.Api;

/// <summary>A gateway's code.</summary>
internal sealed record EnrolmentRequest(string? Code);

/// <summary>Everything a gateway needs to run.</summary>
/// <param name="Gateway">Its name.</param>
/// <param name="User">Its user name at the broker.</param>
/// <param name="Password">Its password there; shown this once.</param>
/// <param name="BrokerHost">The broker's name.</param>
/// <param name="BrokerPort">The broker's port.</param>
/// <param name="CaPem">The authority to pin; empty where the broker speaks no TLS.</param>
/// <param name="Spots">The spots it measures.</param>
internal sealed record EnrolmentAnswer(
    string Gateway, string User, string Password, string BrokerHost, int BrokerPort, string CaPem, IReadOnlyList<EnrolledSpotAnswer> Spots);

/// <summary>A spot to measure.</summary>
/// <param name="Id">Its name on the wire.</param>
/// <param name="Name">Its name for people.</param>
/// <param name="Surface">What the ground is made of, e.g. <c>asphalt</c>.</param>
/// <param name="EmissivityFraction">[fraction] Of this very surface; <c>null</c> takes the kind's.</param>
/// <param name="LimitCelsius">[°C] From here it is too hot.</param>
internal sealed record EnrolledSpotAnswer(string Id, string Name, string Surface, double? EmissivityFraction, double LimitCelsius);

/// <summary>Where a gateway brings its code.</summary>
internal static class EnrolmentApi
{
    public static void MapEnrolment(this IEndpointRouteBuilder routes) =>
        routes.MapPost("/api/enrol", EnrolAsync).WithTags("Enrolment").AllowAnonymous()
            .ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound)
            .ProducesProblem(StatusCodes.Status409Conflict).ProducesProblem(StatusCodes.Status410Gone)
            .ProducesProblem(StatusCodes.Status429TooManyRequests).ProducesProblem(StatusCodes.Status503ServiceUnavailable);

    private static async Task<Results<Ok<EnrolmentAnswer>, ProblemHttpResult>> EnrolAsync(
        EnrolmentRequest request, EnrolmentCodeStore codes, FailedTries failed, HttpContext http, CancellationToken cancellationToken)
    {
        var outcome = await codes.RedeemAsync(request.Code, cancellationToken);
        if (outcome is not (RedeemOutcome.Enrolled or RedeemOutcome.Unready) && failed.CountIsTooMany(FailedTries.Codes, http))
        {
            http.Response.Headers.RetryAfter = "60";
            return Problem(StatusCodes.Status429TooManyRequests, "Too many tries", "Too many codes from this address failed within a minute. Wait a minute, then compare the code with the page.");
        }

        return outcome switch
        {
            RedeemOutcome.Enrolled enrolled => TypedResults.Ok(Answer(enrolled)),
            RedeemOutcome.Mistyped(var detail) => Problem(StatusCodes.Status400BadRequest, "Mistyped", $"This cannot be a code: {detail}. Compare it with the page, sign by sign."),
            RedeemOutcome.Unknown => Problem(StatusCodes.Status404NotFound, "Unknown code", "This code was never given out here. Compare it and the server's address with the page."),
            RedeemOutcome.Used(var at) => Problem(StatusCodes.Status409Conflict, "Used code", $"It was used at {MomentTexts.Utc(at)}. If that was not you, make a new code at once: it ends what the other fetched."),
            RedeemOutcome.Expired(var at) => Problem(StatusCodes.Status410Gone, "Expired code", $"It ended at {MomentTexts.Utc(at)}, after 30 minutes or when a newer one was made."),
            RedeemOutcome.Unready(var detail) => Problem(StatusCodes.Status503ServiceUnavailable, "Server not ready", $"The code is still good, but {detail}."),
            var other => throw new InvalidOperationException($"no such outcome: {other}"),
        };
    }

    private static EnrolmentAnswer Answer(RedeemOutcome.Enrolled enrolled) => new(
        enrolled.Gateway.Value, enrolled.Gateway.Value, enrolled.Password, enrolled.Way.Host, enrolled.Way.Port, enrolled.Way.AuthorityPem,
        [.. enrolled.Spots.Select(s => new EnrolledSpotAnswer(s.Id.Value, s.Name, SurfaceKinds.Slug(s.Surface), s.EmissivityFraction, s.LimitCelsius))]);

    private static ProblemHttpResult Problem(int status, string title, string detail) =>
        TypedResults.Problem(statusCode: status, title: title, detail: detail);

}
