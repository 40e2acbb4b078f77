using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Spots;

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

    /// <summary>Who last changed the limit.</summary>
    public LimitChanger LimitChangedBy { get; set; }

    /// <summary>[°C] Its own cold limit; <c>null</c> takes that of all spots.</summary>
    public double? ColdLimitCelsius { get; set; }

    /// <summary>Who last changed the cold limit.</summary>
    public LimitChanger ColdLimitChangedBy { get; set; }

    public double? EmissivityFraction { get; set; }

    public double RadiusMeters { get; set; } = Spot.DefaultRadiusMeters;

    /// <summary>When the business removed it; <c>null</c> while it is watched. What it measured stays.</summary>
    public DateTimeOffset? RemovedAt { get; set; }

    /// <summary>Since when it has its present ground and place; <c>null</c> when these were never changed. What was measured before says nothing of it.</summary>
    public DateTimeOffset? GroundSince { get; set; }

    public static SpotRow Of(Spot spot, int position)
    {
        var row = new SpotRow
        {
            Id = spot.Id.Value,
            Position = position,
            Name = spot.Name,
            Surface = spot.Surface,
            LatitudeDegrees = spot.LatitudeDegrees,
            LongitudeDegrees = spot.LongitudeDegrees,
            TimeZoneId = spot.TimeZoneId,
        };
        row.Take(spot);
        return row;
    }

    /// <summary>Takes over everything but the name on the wire and the order.</summary>
    public void Take(Spot spot)
    {
        Name = spot.Name;
        Site = spot.Site;
        Surface = spot.Surface;
        LatitudeDegrees = spot.LatitudeDegrees;
        LongitudeDegrees = spot.LongitudeDegrees;
        TimeZoneId = spot.TimeZoneId;
        LimitCelsius = spot.LimitCelsius;
        ColdLimitCelsius = spot.ColdLimitCelsius;
        EmissivityFraction = spot.EmissivityFraction;
        RadiusMeters = spot.RadiusMeters;
    }

    public Spot ToSpot() => new(SpotId.Parse(Id), Name, Surface, LatitudeDegrees, LongitudeDegrees, TimeZoneId)
    {
        Site = Site,
        // An earlier build took higher ones.
        LimitCelsius = Math.Min(LimitCelsius, QuantityRanges.LimitMostCelsius),
        LimitChangedBy = LimitChangedBy,
        ColdLimitCelsius = ColdLimitCelsius,
        ColdLimitChangedBy = ColdLimitChangedBy,
        EmissivityFraction = EmissivityFraction,
        RadiusMeters = RadiusMeters,
    };
}

internal sealed class SpotRowConfiguration : IEntityTypeConfiguration<SpotRow>
{
    public void Configure(EntityTypeBuilder<SpotRow> builder)
    {
        builder.ToTable("Spots");
        builder.HasIndex(s => s.Position);
    }
}
