using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Mvc;

namespace PavementWatch.Server.Access;

/// <summary>The doors: entering by a link, leaving, and what somebody sees who may not come in.</summary>
internal static class Doors
{
    public static void MapDoors(this IEndpointRouteBuilder routes)
    {
        routes.MapGet("/enter/{token}", EnterAsync).AllowAnonymous().ExcludeFromDescription();
        routes.MapPost("/leave", (Delegate)LeaveAsync).AllowAnonymous().ExcludeFromDescription();
    }

    /// <summary>Answers a request that may not go on: programs get problem details, people a sentence.</summary>
    public static async Task RefuseAsync(HttpContext http, int status)
    {
        http.Response.StatusCode = status;
        if (http.Request.Path.StartsWithSegments("/api"))
        {
            await Results.Problem(
                statusCode: status,
                title: status == StatusCodes.Status401Unauthorized ? "Not signed in" : "Not allowed",
                detail: "Open your sign-in link in this browser, or ask the business for a new one.").ExecuteAsync(http);
            return;
        }

        await PlainPage.WriteAsync(
            http, status, "Please use your link",
            "Open the link you were given in this browser. If it has expired, or does not lead here, ask the business for another.", wayBack: status == StatusCodes.Status403Forbidden);
    }

    private static async Task<IResult> EnterAsync(
        [FromServices] People people, [FromServices] FailedTries failed, HttpContext http, CancellationToken cancellationToken)
    {
        http.Response.Headers.CacheControl = "no-store";
        if (await people.EnterAsync(LinkSecrets.Of(http), cancellationToken) is not { } principal)
            return new Refusal(failed.CountIsTooMany(FailedTries.Links, http) ? StatusCodes.Status429TooManyRequests : StatusCodes.Status401Unauthorized);
        await http.SignInAsync(
            CookieAuthenticationDefaults.AuthenticationScheme, principal, new AuthenticationProperties { IsPersistent = true });
        return Results.Redirect("/");
    }

    private static async Task<IResult> LeaveAsync(HttpContext http)
    {
        await http.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
        http.Response.Headers["Clear-Site-Data"] = "\"cache\"";
        return Results.Redirect("/");
    }

    private sealed class Refusal(int status) : IResult
    {
        public Task ExecuteAsync(HttpContext httpContext) => RefuseAsync(httpContext, status);
    }
}
