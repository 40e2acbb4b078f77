using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Access;

/// <summary>Keeps somebody who came by an owner's link to the days of their dog's spots, reading only.</summary>
internal static class OwnersFence
{
    public static void UseOwnersFence(this IApplicationBuilder app) => app.Use(async (http, next) =>
    {
        if (Visitor.DogId(http.User) is not { } dog
            || Policies.IsStaticFile(http)
            || http.Request.Path == "/leave"
            || await MaySeeAsync(http, dog))
            await next(http);
        else
            await Doors.RefuseAsync(http, StatusCodes.Status403Forbidden);
    });

    private static async Task<bool> MaySeeAsync(HttpContext http, int dog)
    {
        if (!HttpMethods.IsGet(http.Request.Method) || SpotOf(http.Request.Path) is not { } spot)
            return false;
        var view = http.RequestServices.GetRequiredService<OwnersView>();
        return await view.MaySeeAsync(dog, spot, http.RequestAborted);
    }

    // /spots/{id} and /api/spots/{id}/day
    private static SpotId? SpotOf(PathString path)
    {
        var parts = path.Value?.Split('/', StringSplitOptions.RemoveEmptyEntries) ?? [];
        var name = parts switch
        {
            ["spots", var id] => id,
            ["api", "spots", var id, "day"] => id,
            _ => null,
        };
        return SpotId.TryParse(name, out var spot) ? spot : null;
    }
}
