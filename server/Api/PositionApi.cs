using System.Security.Claims;
using Microsoft.AspNetCore.Http.HttpResults;
using PavementWatch.Core.Quantities;
using PavementWatch.Server.Access;
using PavementWatch.Server.People;
using PavementWatch.Server.Positions;

namespace PavementWatch.Server.Api;

/// <summary>Where a walker is, as they choose to say.</summary>
/// <param name="Latitude">[°] North positive, −90 to 90.</param>
/// <param name="Longitude">[°] East positive, −180 to 180.</param>
internal sealed record PositionRequest(double? Latitude, double? Longitude);

/// <summary>Sharing one's position; kept in memory for half an hour at most.</summary>
internal static class PositionApi
{
    public static void MapPosition(this IEndpointRouteBuilder routes)
    {
        var position = routes.MapGroup("/api/position").WithTags("Position").RequireAuthorization(Policies.Team);
        position.MapPost("", Share).ProducesProblem(StatusCodes.Status400BadRequest);
        position.MapDelete("", NoContent (ClaimsPrincipal visitor, SharedPositions positions) =>
        {
            positions.Forget(Visitor.PersonId(visitor)!.Value);
            return TypedResults.NoContent();
        });
    }

    private static Results<NoContent, ValidationProblem> Share(
        PositionRequest request, ClaimsPrincipal visitor, SharedPositions positions)
    {
        if (request.Latitude is not { } latitude || !QuantityRanges.Latitude.Holds(latitude))
            return Fault("latitude", $"expected {QuantityRanges.Latitude}");
        if (request.Longitude is not { } longitude || !QuantityRanges.Longitude.Holds(longitude))
            return Fault("longitude", $"expected {QuantityRanges.Longitude}");
        positions.Share(Visitor.PersonId(visitor)!.Value, latitude, longitude);
        return TypedResults.NoContent();
    }

    private static ValidationProblem Fault(string field, string expected) =>
        TypedResults.ValidationProblem(new Dictionary<string, string[]> { [field] = [expected] });
}
