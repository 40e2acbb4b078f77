using System.Text.Json.Serialization;
using Microsoft.AspNetCore.Http.Json;

namespace PavementWatch.Server.Api;

/// <summary>The HTTP API: spots, live changes, days, push, health, its own description.</summary>
internal static class ApiServices
{
    public static IServiceCollection AddApi(this IServiceCollection services)
    {
        services.AddProblemDetails();
        services.AddOpenApi();
        services.AddHealth();
        services.AddSingleton<DayBodies>();
        services.Configure<JsonOptions>(o =>
        {
            // Numbers are numbers: the description says so, and "49" for 49 is a mistake.
            o.SerializerOptions.NumberHandling = JsonNumberHandling.Strict;
            o.SerializerOptions.Converters.Add(new JsonStringEnumConverter(System.Text.Json.JsonNamingPolicy.CamelCase));
        });
        return services;
    }

    public static void MapApi(this IEndpointRouteBuilder routes)
    {
        routes.MapOpenApi().AllowAnonymous();
        routes.MapHealth();
        routes.MapSpots();
        routes.MapPush();
        routes.MapPosition();
        routes.MapChecks();
        routes.MapBacktests();
        routes.MapWeather();
    }
}
