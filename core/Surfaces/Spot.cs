using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Surfaces;

/// <summary>A place on the ground with one surface, watched by a probe or by none (then always estimated).</summary>
/// <param name="Id">Its name on the wire.</param>
/// <param name="Name">Its name for people, e.g. <c>North Gate plaza</c>.</param>
/// <param name="Surface">What the ground is made of.</param>
/// <param name="LatitudeDegrees">[°] North positive, <see cref="QuantityRanges.Latitude"/>.</param>
/// <param name="LongitudeDegrees">[°] East positive, <see cref="QuantityRanges.Longitude"/>.</param>
/// <param name="TimeZoneId">IANA name of the spot's time zone, e.g. <c>America/Chicago</c>.</param>
public sealed record Spot(
    SpotId Id,
    string Name,
    SurfaceKind Surface,
    double LatitudeDegrees,
    double LongitudeDegrees,
    string TimeZoneId)
{
    /// <summary>[°C] Default limit: about five minutes' contact (ASTM C1055 reversible-injury curve, design section 8).</summary>
    public const double DefaultLimitCelsius = 49;

    /// <summary>[m] How near a walker is told of a spot unless set: ten minutes' walk. Our choice.</summary>
    public const double DefaultRadiusMeters = 800;

    /// <summary>The place a walker thinks of, e.g. <c>North Gate</c>; spots of one site lend each other their state.</summary>
    public string Site { get; init; } = "";

    /// <summary>[°C] Surface temperature from which the spot is too hot, <see cref="QuantityRanges.Limit"/>.</summary>
    public double LimitCelsius { get; init; } = DefaultLimitCelsius;

    /// <summary>Who last changed the limit.</summary>
    public LimitChanger LimitChangedBy { get; init; }

    /// <summary>[°C] Surface temperature at and under which walkers are told of the cold, <see cref="QuantityRanges.ColdLimit"/>; <c>null</c> takes that of all spots.</summary>
    public double? ColdLimitCelsius { get; init; }

    /// <summary>Who last changed the cold limit.</summary>
    public LimitChanger ColdLimitChangedBy { get; init; }

    /// <summary>[fraction] Emissivity of this very surface, <see cref="QuantityRanges.SurfaceEmissivity"/>; <c>null</c> takes the kind's.</summary>
    public double? EmissivityFraction { get; init; }

    /// <summary>[fraction] Its surface's emissivity: its own, or else its kind's.</summary>
    public double SurfaceEmissivityFraction() => EmissivityFraction ?? SurfaceCatalogue.Of(Surface).EmissivityFraction.Value;

    /// <summary>What the infrared probe over it sees, as its gateway says.</summary>
    public InfraredBand ProbeBand { get; init; }

    /// <summary>[m] How near a walker must be to hear of it, <see cref="QuantityRanges.Radius"/>.</summary>
    public double RadiusMeters { get; init; } = DefaultRadiusMeters;

    /// <summary>Whether what was measured here says something of another description of the spot: the same ground under the same sun.</summary>
    /// <param name="other">The spot as it was or will be.</param>
    /// <returns>Whether surface, place and emissivity are the same.</returns>
    public bool HasGroundOf(Spot other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return (Surface, LatitudeDegrees, LongitudeDegrees, TimeZoneId, EmissivityFraction)
            == (other.Surface, other.LatitudeDegrees, other.LongitudeDegrees, other.TimeZoneId, other.EmissivityFraction);
    }
}
