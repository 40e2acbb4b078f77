using System.Security.Claims;
using Microsoft.AspNetCore.Http.HttpResults;
using PavementWatch.Server.Access;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Api;

/// <summary>The server's public key for pushes.</summary>
/// <param name="Key">base64url, as <c>applicationServerKey</c> takes it.</param>
internal sealed record PushKeyAnswer(string Key);

/// <summary>A browser's subscription, as <c>PushSubscription.toJSON()</c> writes it, and the spots its person follows.</summary>
/// <param name="Endpoint">Address at the push service.</param>
/// <param name="Keys">The device's keys.</param>
/// <param name="Spots">All spots the person follows from now on; left out, nothing changes.</param>
/// <param name="Kept">Spots the browser remembers as followed; taken where the server does not know the device any more, or by another endpoint.</param>
/// <param name="Replaces">Endpoint the device had before, where its push service gave it another.</param>
internal sealed record SubscriptionRequest(
    string Endpoint, SubscriptionKeys Keys, IReadOnlyList<string>? Spots, IReadOnlyList<string>? Kept = null, string? Replaces = null);

/// <summary>What a device follows.</summary>
/// <param name="Spots">Spots, in no order.</param>
/// <param name="Renew">Whether its push service had given this address up: the browser should ask for another.</param>
internal sealed record SubscriptionAnswer(IReadOnlyList<string> Spots, bool Renew);

/// <summary>Keys of a device, base64url.</summary>
internal sealed record SubscriptionKeys(string P256dh, string Auth);

/// <summary>Which subscription to forget.</summary>
internal sealed record ForgetRequest(string Endpoint);

/// <summary>Subscribing devices to pushes, and their receipts.</summary>
internal static class PushApi
{
    public static void MapPush(this IEndpointRouteBuilder routes)
    {
        var push = routes.MapGroup("/api/push").WithTags("Push").RequireAuthorization(Policies.Team);
        push.MapGet("/key", async Task<Ok<PushKeyAnswer>> (VapidKeys keys, CancellationToken cancellationToken) =>
            TypedResults.Ok(new PushKeyAnswer((await keys.GetAsync(cancellationToken)).PublicKey)));
        push.MapPost("/subscriptions", AddAsync).ProducesProblem(StatusCodes.Status400BadRequest);
        push.MapDelete("/subscriptions", RemoveAsync);
        push.MapDelete("/gone", ForgetGoneAsync);
        // A service worker may show a message after its person signed out; the name of a notification cannot be guessed.
        push.MapPost("/receipts/{id:guid}", ReceiptAsync).AllowAnonymous();
    }

    private static async Task<Results<Created<SubscriptionAnswer>, ValidationProblem>> AddAsync(
        SubscriptionRequest request, ClaimsPrincipal visitor, Subscriptions subscriptions, CancellationToken cancellationToken)
    {
        var (person, endpoint) = (Visitor.PersonId(visitor)!.Value, request.Endpoint ?? "");
        var remembered = new RememberedFollows([.. (request.Kept ?? []).OfType<string>()], request.Replaces);
        var renew = await subscriptions.IsGoneAsync(person, endpoint, cancellationToken);
        var faults = await subscriptions.AddAsync(
            person, endpoint, request.Keys?.P256dh ?? "", request.Keys?.Auth ?? "", request.Spots, remembered, cancellationToken);
        return faults.Count == 0
            ? TypedResults.Created((string?)null, new SubscriptionAnswer(await subscriptions.FollowedAsync(person, endpoint, cancellationToken), renew))
            : TypedResults.ValidationProblem(faults);
    }

    private static async Task<Results<NoContent, NotFound>> RemoveAsync(
        [Microsoft.AspNetCore.Mvc.FromBody] ForgetRequest request,
        ClaimsPrincipal visitor,
        Subscriptions subscriptions,
        CancellationToken cancellationToken) =>
        await subscriptions.RemoveAsync(Visitor.PersonId(visitor)!.Value, request.Endpoint ?? "", cancellationToken)
            ? TypedResults.NoContent()
            : TypedResults.NotFound();

    private static async Task<NoContent> ForgetGoneAsync(ClaimsPrincipal visitor, Subscriptions subscriptions, CancellationToken cancellationToken)
    {
        await subscriptions.ForgetGoneAsync(Visitor.PersonId(visitor)!.Value, cancellationToken);
        return TypedResults.NoContent();
    }

    private static async Task<Results<NoContent, NotFound>> ReceiptAsync(
        Guid id, Receipts receipts, CancellationToken cancellationToken) =>
        await receipts.ShownAsync(id, cancellationToken) ? TypedResults.NoContent() : TypedResults.NotFound();
}
