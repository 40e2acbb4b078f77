using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Registry.Rows;

/// <summary>A spot as it is kept; <see cref="ToSpot"/> is what everybody else sees.</summary>
internal sealed class SpotRow
{
    public required string Id { get; init; }

    /// <summary>The business's order, from 0.</summary>
    public int Position { get; set; }

    public required string Name { get; set; }

    public string Site { get; set; } = "";

    public required SurfaceKind Surface { get; set; }

    public required double LatitudeDegrees { get; set; }

    public required double LongitudeDegrees { get; set; }

    public required string TimeZoneId { get; set; }

    public double LimitCelsius { get; set; } = Spot.DefaultLimitCelsius;

    public double? EmissivityFraction { get; set; }

    public double RadiusMeters { get; set; } = 800;

    public static SpotRow Of(Spot spot, int position) => new()
    {
        Id = spot.Id.Value,
        Position = position,
        Name = spot.Name,
        Site = spot.Site,
        Surface = spot.Surface,
        LatitudeDegrees = spot.LatitudeDegrees,
        LongitudeDegrees = spot.LongitudeDegrees,
        TimeZoneId = spot.TimeZoneId,
        LimitCelsius = spot.LimitCelsius,
        EmissivityFraction = spot.EmissivityFraction,
        RadiusMeters = spot.RadiusMeters,
    };

    public Spot ToSpot() => new(SpotId.Parse(Id), Name, Surface, LatitudeDegrees, LongitudeDegrees, TimeZoneId)
    {
        Site = Site,
        LimitCelsius = LimitCelsius,
        EmissivityFraction = EmissivityFraction,
        RadiusMeters = RadiusMeters,
    };
}
