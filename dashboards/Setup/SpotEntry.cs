using System.Globalization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Setup;

/// <summary>A spot as it is typed into the form of <see cref="SpotFields"/>.</summary>
internal static class SpotEntry
{
    /// <summary>Reads the fields.</summary>
    /// <param name="id">The spot's name on the wire.</param>
    /// <param name="typed">What stands in each field.</param>
    /// <param name="unit">Who typed it reads temperatures in this.</param>
    /// <returns>The spot, or the first field that cannot be read and what was expected.</returns>
    public static (Spot? Spot, string? Fault) Read(SpotId id, Func<string, string?> typed, TemperatureUnit unit)
    {
        if (!SurfaceKinds.TryParse(typed("surface"), out var surface))
            return (null, "no kind of ground is chosen");
        if (SetupText.Number(typed("latitude")) is not { } latitude)
            return (null, $"latitude is '{typed("latitude")}', expected a number of degrees such as 37.4012");
        if (SetupText.Number(typed("longitude")) is not { } longitude)
            return (null, $"longitude is '{typed("longitude")}', expected a number of degrees such as -97.0031");
        var (radius, emissivity) = (SetupText.Number(typed("radius")), SetupText.Number(typed("emissivity")));
        if (radius is null && !string.IsNullOrEmpty(typed("radius")))
            return (null, $"radius is '{typed("radius")}', expected a number of metres such as 800, or nothing");
        if (emissivity is null && !string.IsNullOrEmpty(typed("emissivity")))
            return (null, $"emissivity is '{typed("emissivity")}', expected a number such as 0.95, or nothing");
        var (limit, fault) = SetupText.Limit(typed("limit"), typed("unit"), unit);
        if (limit is not { } limitCelsius)
            return (null, fault);
        (var coldLimit, fault) = SetupText.ColdLimit(typed("cold-limit"), typed("unit"), unit);
        if (fault is not null)
            return (null, fault);
        return (new Spot(id, typed("name") ?? "", surface, latitude, longitude, typed("zone") ?? "")
        {
            Site = typed("site") ?? "",
            LimitCelsius = limitCelsius,
            ColdLimitCelsius = coldLimit,
            RadiusMeters = radius ?? Spot.DefaultRadiusMeters,
            EmissivityFraction = emissivity,
        }, null);
    }

    /// <summary>The fields of a spot that is there.</summary>
    public static Func<string, string?> Of(Spot spot, TemperatureUnit unit) => field => field switch
    {
        "name" => spot.Name,
        "site" => spot.Site,
        "surface" => SurfaceKinds.Slug(spot.Surface),
        "latitude" => Text(spot.LatitudeDegrees),
        "longitude" => Text(spot.LongitudeDegrees),
        "zone" => spot.TimeZoneId,
        "radius" => Text(spot.RadiusMeters),
        "emissivity" => spot.EmissivityFraction is { } emissivity ? Text(emissivity) : "",
        "limit" => SetupText.Typed(spot.LimitCelsius, unit).Number,
        "cold-limit" => SetupText.TypedOrNothing(spot.ColdLimitCelsius, unit),
        "unit" => SetupText.Typed(spot.LimitCelsius, unit).Unit,
        _ => null,
    };

    private static string Text(double value) => value.ToString(CultureInfo.InvariantCulture);
}
