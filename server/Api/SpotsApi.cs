using System.Globalization;
using System.Net.ServerSentEvents;
using System.Runtime.CompilerServices;
using System.Security.Claims;
using Microsoft.AspNetCore.Http.HttpResults;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.People;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Walks;
using PavementWatch.Server.Access;
using PavementWatch.Server.People;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Api;

/// <summary>Spots now, their changes as they happen, and their days.</summary>
internal static class SpotsApi
{
    // A phone's radio and eyes need no more; the newest state is never held back longer.
    private static readonly TimeSpan Breath = TimeSpan.FromMilliseconds(500);

    // So that a phone can tell a quiet town from a dead connection.
    private static readonly TimeSpan LongestQuiet = TimeSpan.FromSeconds(25);

    public static void MapSpots(this IEndpointRouteBuilder routes)
    {
        var api = routes.MapGroup("/api").WithTags("Spots").RequireAuthorization(Policies.Team);
        api.MapGet("/spots", Ok<IEnumerable<SpotNowJson>> (ISpotBoard board, ClaimsPrincipal visitor) => TypedResults.Ok(Snapshot(board, Account.Unit(visitor))));
        api.MapGet("/live", ServerSentEventsResult<object> (SpotBoard board, LiveStreams streams, IHostApplicationLifetime life, HttpContext http) =>
        {
            http.Response.Headers["X-Accel-Buffering"] = "no";
            var stream = streams.Open(http.User);
            http.Response.RegisterForDispose(stream);
            return TypedResults.ServerSentEvents(LiveAsync(board, stream, life.ApplicationStopping, http.RequestAborted));
        });
        api.MapGet("/spots/{id}/day", DayAsync).Produces<SpotDayJson>().Produces(StatusCodes.Status404NotFound).ProducesValidationProblem();
    }

    private static IEnumerable<SpotNowJson> Snapshot(ISpotBoard board, TemperatureUnit unit) => board.All().Select(spot => SpotNowJson.Of(spot, unit));

    private static async IAsyncEnumerable<SseItem<object>> LiveAsync(
        SpotBoard board, LiveStream stream, CancellationToken stopping, [EnumeratorCancellation] CancellationToken left)
    {
        using var end = CancellationTokenSource.CreateLinkedTokenSource(stopping, left, stream.Ended);
        using var listener = board.Listen();
        // What is sent to one person is worded for them; the board is the same for all.
        var unit = stream.Unit;
        yield return new SseItem<object>(Snapshot(board, unit), "snapshot");
        while (await NextAsync(listener, end.Token) is { } changed)
        {
            if (changed.Count == 0 || stream.Unit != unit)
            {
                unit = stream.Unit;
                yield return new SseItem<object>(Snapshot(board, unit), "snapshot");
                changed = [];
            }

            foreach (var spot in changed)
                yield return new SseItem<object>(SpotNowJson.Of(spot, unit), "spot");
            await Task.Delay(Breath, TimeProvider.System, end.Token).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        // Said, so that a page does not come back at once and push out a newer one in turn.
        if (stream.IsElsewhere)
            yield return new SseItem<object>(LiveStreams.MostPerPerson, "elsewhere");
    }

    /// <summary>What changed; empty when nothing did for long; <c>null</c> when the stream should end, which is no error.</summary>
    private static async Task<IReadOnlyCollection<SpotNow>?> NextAsync(SpotBoard.Listener listener, CancellationToken end)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(end);
        patience.CancelAfter(LongestQuiet);
        try
        {
            return await listener.NextAsync(patience.Token);
        }
        catch (OperationCanceledException)
        {
            return end.IsCancellationRequested ? null : [];
        }
    }

    private static async Task<IResult> DayAsync(
        string id, string? date, ISpotDays days, DayBodies bodies, IVisitorWalkQuery walks, ClaimsPrincipal visitor, CancellationToken cancellationToken)
    {
        if (!SpotId.TryParse(id, out var spot) || days.Today(spot) is not { } day)
            return TypedResults.NotFound();
        if (date is not null
            && (!DateOnly.TryParseExact(date, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out day)
                || day.Year is < 2000 or > 2200))
        {
            return TypedResults.ValidationProblem(new Dictionary<string, string[]>
            {
                ["date"] = [$"'{date}' is not a day, expected yyyy-MM-dd"],
            });
        }

        if (await days.DayAsync(spot, day, cancellationToken) is not { } found)
            return TypedResults.NotFound();
        var walk = await walks.FindAsync(visitor, found, cancellationToken);
        return TypedResults.Bytes(bodies.Of(walk is null ? found : found with { Walk = walk }), "application/json; charset=utf-8");
    }
}
