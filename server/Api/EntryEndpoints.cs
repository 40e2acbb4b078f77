using System.Net;
using System.Security.Claims;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Mvc;
using PavementWatch.Core.Names;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Access;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Api;

/// <summary>Entering by a link, leaving, and what somebody sees who may not come in.</summary>
/// <remarks>Opening a link changes nothing, since programs that preview messages open links too; the press of its button does.</remarks>
internal static class EntryEndpoints
{
    public static void MapDoors(this IEndpointRouteBuilder routes)
    {
        routes.MapGet("/enter/{token}", AskAsync).AllowAnonymous().ExcludeFromDescription();
        routes.MapPost("/enter/{token}", EnterAsync).AllowAnonymous().ExcludeFromDescription();
        routes.MapGet("/set-up/{token}", AskSetUpAsync).AllowAnonymous().ExcludeFromDescription();
        routes.MapPost("/set-up/{token}", SetUpAsync).AllowAnonymous().ExcludeFromDescription();
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
            "Open the link you were given in this browser. Each signs in once; if yours is used or has expired, or does not lead here, ask the business for another.",
            wayBack: status == StatusCodes.Status403Forbidden,
            more: status == StatusCodes.Status401Unauthorized ? PasskeyButton : "");
    }

    /// <summary>Signs in with the cookie.</summary>
    public static Task SignInAsync(HttpContext http, ClaimsPrincipal principal) => http.SignInAsync(
        CookieAuthenticationDefaults.AuthenticationScheme, principal, new AuthenticationProperties { IsPersistent = true });

    // Shown by its script, where the browser has passkeys at all.
    private const string PasskeyButton =
        """
        <p id="passkey" hidden><button type="button" class="button" id="passkey-enter">Sign in with a passkey</button></p>
        <p id="passkey-said" class="said" role="status"></p>
        <script type="module" src="/js/passkey.js"></script>
        """;

    private static async Task<IResult> AskAsync(
        [FromServices] PersonStore people, [FromServices] FailedTries failed, IAntiforgery forms, HttpContext http, CancellationToken cancellationToken) =>
        await people.WhoseAsync(LinkSecrets.Of(http), cancellationToken) is { } person
            ? new Page(http => PlainPage.WriteAsync(
                http, StatusCodes.Status200OK, $"Sign in as {person.Name}",
                "This link signs in once, in one browser. Press the button in the browser you will use.",
                wayBack: false, more: Form(http, forms, "Sign in")))
            : await EndedAsync(people, failed, http, cancellationToken);

    // Whoever is signed in and opens their old link again is not locked out, and must not think so.
    private static async Task<IResult> EndedAsync(PersonStore people, FailedTries failed, HttpContext http, CancellationToken cancellationToken) =>
        http.User.Identity is { IsAuthenticated: true, Name: { } name } && await people.UsedAtAsync(LinkSecrets.Of(http), cancellationToken) is { } at
            ? new Page(http => PlainPage.WriteAsync(
                http, StatusCodes.Status200OK, $"You are signed in as {name}",
                $"This link was used at {MomentTexts.InFull(at, CommonZone.Of(http.RequestServices.GetRequiredService<ISpotBoard>()))}, and signs in once. In this browser you need no link.",
                wayBack: true))
            : new Refusal(failed);

    private static async Task<IResult> EnterAsync(
        [FromServices] PersonStore people, [FromServices] FailedTries failed, IAntiforgery forms, HttpContext http, CancellationToken cancellationToken)
    {
        if (!await forms.IsRequestValidAsync(http))
            return TryAgain(forms, "Sign in");
        if (await people.EnterAsync(LinkSecrets.Of(http), DeviceName.Of(http), cancellationToken) is not { } principal)
            return await EndedAsync(people, failed, http, cancellationToken);
        await SignInAsync(http, principal);
        return Results.Redirect("/");
    }

    private static async Task<IResult> AskSetUpAsync(
        [FromServices] SetUpLink link, [FromServices] FailedTries failed, IAntiforgery forms, HttpContext http, CancellationToken cancellationToken) =>
        await link.IsGoodAsync(LinkSecrets.Of(http), cancellationToken) ? SetUpPage(forms, StatusCodes.Status200OK, null) : new Refusal(failed);

    private static async Task<IResult> SetUpAsync(
        [FromServices] SetUpLink link, [FromServices] PersonStore people, [FromServices] Sessions sessions, [FromServices] FailedTries failed,
        IAntiforgery forms, HttpContext http, CancellationToken cancellationToken)
    {
        if (!await forms.IsRequestValidAsync(http))
            return SetUpPage(forms, StatusCodes.Status400BadRequest, "the page was too old; press again");
        if (!await link.IsGoodAsync(LinkSecrets.Of(http), cancellationToken))
            return new Refusal(failed);
        var name = (await http.Request.ReadFormAsync(cancellationToken))["name"].ToString().Trim();
        if (NameRule.Fault("name", name) is { } fault)
            return SetUpPage(forms, StatusCodes.Status400BadRequest, fault);
        if (await people.AddFirstAsync(name, cancellationToken) is not { } person)
            return new Refusal(failed);
        await SignInAsync(http, await sessions.BeginAsync(person, DeviceName.Of(http), "set-up link", cancellationToken));
        return Results.Redirect("/business");
    }

    private static Page SetUpPage(IAntiforgery forms, int status, string? fault) => new(http => PlainPage.WriteAsync(
        http, status, "Set up PavementWatch",
        fault is null ? "Nobody of the business is here yet. Say who you are; you can then add spots, gateways and people." : $"Not yet: {fault}.",
        wayBack: false,
        more: Form(http, forms, "Begin", """<p class="field"><label for="name">Your name, or the firm's</label> <input id="name" name="name" maxlength="80" required autocomplete="name"></p>""")));

    private static Page TryAgain(IAntiforgery forms, string button) => new(http => PlainPage.WriteAsync(
        http, StatusCodes.Status400BadRequest, "Press once more", "This page was too old, or the browser keeps no cookies; signing in needs one.",
        wayBack: false, more: Form(http, forms, button)));

    private static string Form(HttpContext http, IAntiforgery forms, string button, string fields = "")
    {
        var token = forms.GetAndStoreTokens(http);
        var path = http.Features.Get<Dashboards.Hosting.LinkSecret>()?.Path ?? "/";
        return $"""
            <form method="post" action="{WebUtility.HtmlEncode(path)}" id="enter">
            <input type="hidden" name="{WebUtility.HtmlEncode(token.FormFieldName)}" value="{WebUtility.HtmlEncode(token.RequestToken)}">
            {fields}
            <p><button type="submit" class="button">{WebUtility.HtmlEncode(button)}</button></p>
            </form>
            """;
    }

    private static async Task<IResult> LeaveAsync(HttpContext http, [FromServices] PersonStore people)
    {
        if (Visitor.PersonId(http.User) is { } person && Sessions.IdOf(http.User) is { } session)
            await people.EndSessionAsync(person, session, http.RequestAborted);
        await http.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
        http.Response.Headers["Clear-Site-Data"] = "\"cache\"";
        return Results.Redirect("/");
    }

    private sealed class Page(Func<HttpContext, Task> write) : IResult
    {
        public Task ExecuteAsync(HttpContext httpContext) => write(httpContext);
    }

    private sealed class Refusal(FailedTries failed) : IResult
    {
        public Task ExecuteAsync(HttpContext httpContext)
        {
            if (!failed.CountIsTooMany(FailedTries.Links, httpContext))
                return RefuseAsync(httpContext, StatusCodes.Status401Unauthorized);
            httpContext.Response.Headers.RetryAfter = "60";
            return PlainPage.WriteAsync(
                httpContext, StatusCodes.Status429TooManyRequests, "Too many links that do not work",
                "Wait a minute. A link that works is never held up; ask the business for another.", wayBack: false);
        }
    }
}
