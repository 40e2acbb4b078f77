using System.ComponentModel.DataAnnotations;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Gateway.Spots;

/// <summary>A spot this gateway watches. Section <c>Spots</c>: the spot's name, then these.</summary>
/// <example><c>"Spots": { "north-gate-plaza": { "Surface": "asphalt", "LimitCelsius": 49 } }</c></example>
internal sealed record SpotOptions
{
    /// <summary>What the ground is made of, e.g. <c>concrete-pale</c>; gives the emissivity unless that is set.</summary>
    public string Surface { get; init; } = "";

    /// <summary>[fraction] Emissivity of this very surface, 0.1 to 1 inclusive; the surface kind's unless set.</summary>
    [Range(QuantityRanges.SurfaceEmissivityLeastFraction, QuantityRanges.SurfaceEmissivityMostFraction)]
    public double? EmissivityFraction { get; init; }

    /// <summary>[fraction] How much of the sky's half sphere the surface sees, 0 (under a roof) to 1 (open field); 0.8 unless set.</summary>
    [Range(QuantityRanges.OpenSkyLeastFraction, QuantityRanges.OpenSkyMostFraction)]
    public double OpenSkyFraction { get; init; } = ReflectedSky.UsualOpenSkyFraction;

    /// <summary>[°C] From here the spot is too hot, 30 to 52 inclusive; the default limit unless set.</summary>
    [Range(QuantityRanges.LimitLeastCelsius, QuantityRanges.LimitMostCelsius)]
    public double LimitCelsius { get; init; } = Spot.DefaultLimitCelsius;

    /// <summary>The surface kind; <see cref="SurfaceKind.Unknown"/> when not set.</summary>
    public SurfaceKind Kind() => SurfaceKinds.TryParse(Surface, out var kind) ? kind : SurfaceKind.Unknown;

    /// <summary>[fraction] The emissivity to reckon with.</summary>
    public double Emissivity() => EmissivityFraction ?? SurfaceCatalogue.Of(Kind()).EmissivityFraction.Value;

    /// <summary>[W·s^½/(m²·K)] The effusivity that bounds how fast it can change: the low end for its kind.</summary>
    /// <remarks>At most 1000: thin slabs and gratings change faster than a thick body of the same stuff. Our choice.</remarks>
    public double Effusivity() =>
        Math.Min(SurfaceCatalogue.Of(Kind()).EffusivityWattRootSecondsPerSquareMeterKelvin.Low, 1000);
}

/// <summary>The spots by name. Section <c>Spots</c>.</summary>
internal sealed class SpotTable : Dictionary<string, SpotOptions>;
