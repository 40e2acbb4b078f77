using System.Globalization;
using System.Text.Json;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Api;

/// <summary>Passkeys: kept by somebody who is signed in, then their way back in without a link.</summary>
internal static class PasskeyEndpoints
{
    /// <summary>Passkeys of one person at most.</summary>
    public const int MostPerPerson = 10;

    public static void MapPasskeys(this IEndpointRouteBuilder routes)
    {
        var api = routes.MapGroup("/api/passkeys").WithTags("Passkeys").RequireAuthorization(Policies.Team).ExcludeFromDescription();
        api.MapPost("/offer", OfferAsync);
        api.MapPost("", KeepAsync);
        api.MapPost("/ask", AskAsync).AllowAnonymous();
        api.MapPost("/enter", EnterAsync).AllowAnonymous();
    }

    /// <summary>What <c>navigator.credentials.create</c> takes.</summary>
    private static async Task<Results<ContentHttpResult, ProblemHttpResult>> OfferAsync(
        HttpContext http, [FromServices] SignInManager<PersonRow> signIn, [FromServices] UserManager<PersonRow> users)
    {
        if (await PersonAsync(http, users) is not { } person)
            return Problem(StatusCodes.Status401Unauthorized, "nobody is signed in here any more");
        if ((await users.GetPasskeysAsync(person)).Count >= MostPerPerson)
            return Problem(StatusCodes.Status409Conflict, $"there are {MostPerPerson} passkeys already; remove one first");
        return Json(await signIn.MakePasskeyCreationOptionsAsync(new PasskeyUserEntity
        {
            Id = person.Id.ToString(CultureInfo.InvariantCulture),
            Name = person.Name,
            DisplayName = person.Name,
        }));
    }

    private static async Task<Results<NoContent, ProblemHttpResult>> KeepAsync(
        HttpContext http, [FromBody] JsonElement credential, [FromServices] SignInManager<PersonRow> signIn, [FromServices] UserManager<PersonRow> users)
    {
        if (await PersonAsync(http, users) is not { } person)
            return Problem(StatusCodes.Status401Unauthorized, "nobody is signed in here any more");
        var made = await TryAsync(() => signIn.PerformPasskeyAttestationAsync(credential.GetRawText()));
        if (made is not { Succeeded: true } || made.UserEntity.Id != person.Id.ToString(CultureInfo.InvariantCulture))
            return Problem(StatusCodes.Status400BadRequest, "the passkey was not made for this sign-in, or too long ago; press again");
        made.Passkey.Name = DeviceName.Of(http);
        var kept = await users.AddOrUpdatePasskeyAsync(person, made.Passkey);
        return kept.Succeeded ? TypedResults.NoContent() : Problem(StatusCodes.Status409Conflict, string.Join("; ", kept.Errors.Select(e => e.Description)));
    }

    /// <summary>What <c>navigator.credentials.get</c> takes; names nobody, the phone knows whose passkeys it has.</summary>
    private static async Task<ContentHttpResult> AskAsync([FromServices] SignInManager<PersonRow> signIn) =>
        Json(await signIn.MakePasskeyRequestOptionsAsync(null));

    private static async Task<Results<NoContent, ProblemHttpResult>> EnterAsync(
        HttpContext http, [FromBody] JsonElement credential, [FromServices] SignInManager<PersonRow> signIn, [FromServices] UserManager<PersonRow> users,
        [FromServices] Sessions sessions, [FromServices] FailedTries failed, CancellationToken cancellationToken)
    {
        var shown = await TryAsync(() => signIn.PerformPasskeyAssertionAsync(credential.GetRawText()));
        if (shown is not { Succeeded: true })
        {
            return failed.CountIsTooMany(FailedTries.Passkeys, http)
                ? Problem(StatusCodes.Status429TooManyRequests, "too many passkeys that are not known here; wait a minute")
                : Problem(StatusCodes.Status401Unauthorized, "this passkey is not known here any more; use a link");
        }

        // The authenticator's count moves on with each use.
        await users.AddOrUpdatePasskeyAsync(shown.User, shown.Passkey);
        await EntryEndpoints.SignInAsync(http, await sessions.BeginAsync(shown.User, DeviceName.Of(http), "passkey", cancellationToken));
        return TypedResults.NoContent();
    }

    private static async Task<PersonRow?> PersonAsync(HttpContext http, UserManager<PersonRow> users) =>
        Visitor.PersonId(http.User) is { } id ? await users.FindByIdAsync(id.ToString(CultureInfo.InvariantCulture)) : null;

    /// <summary>What strangers send can be anything; <c>null</c> where there is nothing to look at.</summary>
    private static async Task<T?> TryAsync<T>(Func<Task<T>> look)
        where T : class
    {
        try
        {
            return await look();
        }
        catch (Exception e) when (e is InvalidOperationException or JsonException or FormatException or ArgumentException)
        {
            return null;
        }
    }

    private static ContentHttpResult Json(string options) => TypedResults.Content(options, "application/json");

    private static ProblemHttpResult Problem(int status, string detail) => TypedResults.Problem(statusCode: status, title: "No passkey", detail: detail);
}
