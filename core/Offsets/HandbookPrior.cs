using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>What an offset is taken to be before a spot has readings of its own: a steady energy balance per surface kind.</summary>
/// <remarks>
/// Offset = (absorptance · (1 − evaporating share) · lagged sun − loss without sun) / heat loss coefficient.
/// Absorptances are those of <see cref="SurfaceCatalogue"/>; the losses (wind, radiation and ground together) are set so
/// that three things come out together. First the maxima of Chestovich et al. 2023 (J. Burn Care Res. 44(2) 438–445;
/// asphalt, rock, brick, concrete, metal and sand in Las Vegas). Then the differences known as common practice (asphalt +40 °F, pale
/// concrete +25 °F, grass −3 °F on a clear 80 °F midday; no source). And the median of satellite surface temperatures
/// (ASTER AST_08) of asphalt, concrete and bare soil in Phoenix at 11 h on summer days, 17 to 22 K over the air in
/// winds of 1 to 2 m/s, where what was first set from the other two lay 10 to 13 K too low on concrete and soil. Concrete
/// meets all of them only if most of its loss goes with the wind. Kinds without a measured pair are placed between
/// their neighbours; common practice, no source.
/// </remarks>
internal static class HandbookPrior
{
    /// <summary>[h] Time constant of the slow store.</summary>
    public const double SlowHours = 9;

    private const double TypicalWindMetersPerSecond = 2.5;

    // Loss, lag, slow share; where it is not usual: evaporating share, share of the wind, loss without sun, errors.
    public static Ground Of(SurfaceKind kind) => kind switch
    {
        SurfaceKind.Asphalt => Make(kind, 30, 0.6, 0.15),
        SurfaceKind.ConcretePale => Make(kind, 26.4, 0.3, 0.10) with { WindShareFraction = 0.8, NightLossWattsPerSquareMeter = 30, NightErrorKelvin = 2.5, NoonErrorKelvin = 5 },
        SurfaceKind.ConcreteGrey => Make(kind, 33.8, 0.3, 0.10) with { WindShareFraction = 0.8, NightLossWattsPerSquareMeter = 40, NightErrorKelvin = 2.5, NoonErrorKelvin = 4.5 },
        SurfaceKind.Brick => Make(kind, 28, 0.8, 0.20) with { NoonErrorKelvin = 4.5 },
        SurfaceKind.Stone => Make(kind, 33.8, 0.3, 0.10) with { WindShareFraction = 0.8, NightLossWattsPerSquareMeter = 40, NightErrorKelvin = 2.5, NoonErrorKelvin = 4.5 },
        // Desert sand was cooler than desert soil; which of them a sandpit is like is not known.
        SurfaceKind.Sand => Make(kind, 29, 0.4, 0.10) with { NoonErrorKelvin = 4.5 },
        SurfaceKind.Gravel => Make(kind, 23.5, 0.5, 0.10) with { NoonErrorKelvin = 4.5 },
        // Dry: soil that is damp is cooler.
        SurfaceKind.Soil => Make(kind, 26.5, 0.3, 0.05) with { WindShareFraction = 0.4, NoonErrorKelvin = 4 },
        SurfaceKind.Grass => Make(kind, 25, 0.3, 0.05) with { EvaporatingFraction = 0.92 },
        SurfaceKind.ArtificialTurf => Make(kind, 25, 0.2, 0.02),
        SurfaceKind.TimberDeck => Make(kind, 25, 0.3, 0.05),
        SurfaceKind.RubberTile => Make(kind, 27, 0.4, 0.08),
        SurfaceKind.MetalGrate => Make(kind, 43, 0.3, 0.02),
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
        // A share of the loss goes with the wind; McAdams' 5.7 + 3.8 v in proportion.
        var wind = windMetersPerSecond ?? TypicalWindMetersPerSecond;
        var loss = ground.LossWattsPerSquareMeterKelvin
            * (1 - ground.WindShareFraction + ground.WindShareFraction * (5.7 + 3.8 * wind) / (5.7 + 3.8 * TypicalWindMetersPerSecond));
        return (ground.AbsorptanceFraction * (1 - ground.EvaporatingFraction) * sun - ground.NightLossWattsPerSquareMeter) / loss;
    }

    private static Ground Make(SurfaceKind kind, double loss, double lagHours, double slowShare) =>
        new(SurfaceCatalogue.Of(kind).AbsorptanceFraction.Value, loss, lagHours, slowShare);

    /// <summary>A kind of ground.</summary>
    /// <param name="AbsorptanceFraction">[fraction] Of the sun's light.</param>
    /// <param name="LossWattsPerSquareMeterKelvin">[W/(m²·K)] To air, sky and depth, in a light breeze.</param>
    /// <param name="LagHours">[h] Of the surface behind the sun.</param>
    /// <param name="SlowShareFraction">[fraction] Of the sun that works through the slow store.</param>
    internal readonly record struct Ground(
        double AbsorptanceFraction,
        double LossWattsPerSquareMeterKelvin,
        double LagHours,
        double SlowShareFraction)
    {
        /// <summary>[fraction] Of the absorbed light, spent on evaporation.</summary>
        public double EvaporatingFraction { get; init; } = 0;

        /// <summary>[fraction] Of the loss, as much as goes with the wind.</summary>
        public double WindShareFraction { get; init; } = 0.5;

        /// <summary>[W/m²] Thermal radiation lost under a clear sky, less what the ground gives back of the day.</summary>
        public double NightLossWattsPerSquareMeter { get; init; } = 100;

        /// <summary>[K] Mean absolute error by night before a spot has shown any.</summary>
        public double NightErrorKelvin { get; init; } = 1.5;

        /// <summary>[K] Mean absolute error at noon before a spot has shown any.</summary>
        public double NoonErrorKelvin { get; init; } = 3.5;
    }
}
