using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>What an offset is taken to be before a spot has readings of its own: a steady energy balance per surface kind.</summary>
/// <remarks>
/// Offset = (absorptance · (1 − evaporating share) · lagged sun − net longwave loss) / heat loss coefficient.
/// Absorptances are those of <see cref="SurfaceCatalogue"/>; the loss coefficients (wind, radiation and ground
/// together) are set so that the maxima of Chestovich et al. 2023 (J. Burn Care Res. 44(2) 438–445; asphalt,
/// brick, concrete and sand in Las Vegas) and the differences known as common practice (asphalt +40 °F, pale concrete
/// +25 °F, grass −3 °F on a clear 80 °F midday; no source) come out together. Kinds without a measured pair are
/// placed between their neighbours; common practice, no source.
/// </remarks>
internal static class HandbookPrior
{
    /// <summary>[W/m²] Net longwave loss of level ground under a clear sky.</summary>
    public const double LongwaveLossWattsPerSquareMeter = 100;

    /// <summary>[h] Time constant of the slow store.</summary>
    public const double SlowHours = 9;

    private const double TypicalWindMetersPerSecond = 2.5;

    // Evaporating share, loss, lag, slow share.
    public static Ground Of(SurfaceKind kind) => kind switch
    {
        SurfaceKind.Asphalt => Make(kind, 0, 30, 0.6, 0.15),
        SurfaceKind.ConcretePale => Make(kind, 0, 28, 1.0, 0.25),
        SurfaceKind.ConcreteGrey => Make(kind, 0, 38, 1.0, 0.25),
        SurfaceKind.Brick => Make(kind, 0, 28, 0.8, 0.20),
        SurfaceKind.Stone => Make(kind, 0, 32, 1.2, 0.25),
        SurfaceKind.Sand => Make(kind, 0, 34, 0.5, 0.15),
        SurfaceKind.Gravel => Make(kind, 0, 33, 0.6, 0.15),
        SurfaceKind.Soil => Make(kind, 0.35, 34, 0.6, 0.15),
        SurfaceKind.Grass => Make(kind, 0.92, 25, 0.3, 0.05),
        SurfaceKind.ArtificialTurf => Make(kind, 0, 25, 0.2, 0.02),
        SurfaceKind.TimberDeck => Make(kind, 0, 25, 0.3, 0.05),
        SurfaceKind.RubberTile => Make(kind, 0, 27, 0.4, 0.08),
        SurfaceKind.MetalGrate => Make(kind, 0, 43, 0.3, 0.02),
        // The hottest there is.
        _ => Of(SurfaceKind.ArtificialTurf),
    };

    /// <summary>[K] Surface minus air.</summary>
    /// <param name="ground">The ground.</param>
    /// <param name="quickSun">[W/m²] Sun, lagged by <see cref="Ground.LagHours"/>.</param>
    /// <param name="slowSun">[W/m²] Sun, lagged by <see cref="SlowHours"/>.</param>
    /// <param name="windMetersPerSecond">[m/s] Wind, or <c>null</c>: a light breeze.</param>
    public static double OffsetKelvin(in Ground ground, double quickSun, double slowSun, double? windMetersPerSecond)
    {
        var sun = (1 - ground.SlowShareFraction) * quickSun + ground.SlowShareFraction * slowSun;
        // Half of the loss goes with the wind; McAdams' 5.7 + 3.8 v in proportion.
        var wind = windMetersPerSecond ?? TypicalWindMetersPerSecond;
        var loss = ground.LossWattsPerSquareMeterKelvin
            * (0.5 + 0.5 * (5.7 + 3.8 * wind) / (5.7 + 3.8 * TypicalWindMetersPerSecond));
        return (ground.AbsorptanceFraction * (1 - ground.EvaporatingFraction) * sun - LongwaveLossWattsPerSquareMeter)
            / loss;
    }

    private static Ground Make(SurfaceKind kind, double evaporating, double loss, double lagHours, double slowShare) =>
        new(SurfaceCatalogue.Of(kind).AbsorptanceFraction.Value, evaporating, loss, lagHours, slowShare);

    /// <summary>A kind of ground.</summary>
    /// <param name="AbsorptanceFraction">[fraction] Of the sun's light.</param>
    /// <param name="EvaporatingFraction">[fraction] Of the absorbed light, spent on evaporation.</param>
    /// <param name="LossWattsPerSquareMeterKelvin">[W/(m²·K)] To air, sky and depth, in a light breeze.</param>
    /// <param name="LagHours">[h] Of the surface behind the sun.</param>
    /// <param name="SlowShareFraction">[fraction] Of the sun that works through the slow store.</param>
    internal readonly record struct Ground(
        double AbsorptanceFraction,
        double EvaporatingFraction,
        double LossWattsPerSquareMeterKelvin,
        double LagHours,
        double SlowShareFraction);
}
