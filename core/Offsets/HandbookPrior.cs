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
    /// <summary>[h] Time constant of the slow store: our own choice, no source.</summary>
    public const double SlowHours = 9;

    // [m/s] The middle of Beaufort's light breeze, 1.6 to 3.3 m/s.
    private const double TypicalWindMetersPerSecond = 2.5;

    // [W/(m²·K)] Of wind over a plate: 5.7 + 3.8 v; W. H. McAdams, Heat Transmission, 3rd ed., McGraw-Hill 1954, from memory.
    private const double StillAir = 5.7;
    private const double PerMeterPerSecond = 3.8;

    // What the figures below are from; the remarks above say it whole.
    private const string Desert = "set to the maximum of Chestovich et al. 2023";
    private const string Rule = "set to the difference known as common practice, no source";
    private const string Satellite = "set to the median of satellite surfaces in Phoenix";
    private const string DesertAndSatellite = Desert + " and to the median of satellite surfaces in Phoenix";
    private const string All = DesertAndSatellite + ", and to the difference known as common practice";
    private const string AsConcrete = "as grey concrete; common practice, no source";
    private const string Between = "between its neighbours; common practice, no source";
    private const string Choice = "our own choice, no source";
    private const string Wider = "our own choice, no source: wider than the usual, as satellite surfaces of concrete and soil scatter";

    /// <summary>The figures of a kind of ground.</summary>
    public static Ground Of(SurfaceKind kind) => kind switch
    {
        SurfaceKind.Asphalt => Make(kind, loss: new(30, $"{Desert}; {Rule}"), lagHours: new(0.6, Choice), slowShare: new(0.15, Choice)),
        SurfaceKind.ConcretePale => Make(kind, loss: new(26.4, All), lagHours: new(0.3, Satellite), slowShare: new(0.10, Satellite)) with
        {
            WindShareFraction = new(0.8, DesertAndSatellite),
            NightLossWattsPerSquareMeter = new(30, Satellite),
            NightErrorKelvin = new(2.5, Wider),
            NoonErrorKelvin = new(5, Wider),
        },
        SurfaceKind.ConcreteGrey => Make(kind, loss: new(33.8, DesertAndSatellite), lagHours: new(0.3, Satellite), slowShare: new(0.10, Satellite)) with
        {
            WindShareFraction = new(0.8, DesertAndSatellite),
            NightLossWattsPerSquareMeter = new(40, Satellite),
            NightErrorKelvin = new(2.5, Wider),
            NoonErrorKelvin = new(4.5, Wider),
        },
        SurfaceKind.Brick => Make(kind, loss: new(28, Desert), lagHours: new(0.8, Choice), slowShare: new(0.20, Choice)) with { NoonErrorKelvin = new(4.5, Wider) },
        SurfaceKind.Stone => Make(kind, loss: new(33.8, AsConcrete), lagHours: new(0.3, AsConcrete), slowShare: new(0.10, AsConcrete)) with
        {
            WindShareFraction = new(0.8, AsConcrete),
            NightLossWattsPerSquareMeter = new(40, AsConcrete),
            NightErrorKelvin = new(2.5, AsConcrete),
            NoonErrorKelvin = new(4.5, AsConcrete),
        },
        // Desert sand was cooler than desert soil; which of them a sandpit is like is not known.
        SurfaceKind.Sand => Make(kind, loss: new(29, Desert), lagHours: new(0.4, Choice), slowShare: new(0.10, Choice)) with { NoonErrorKelvin = new(4.5, Wider) },
        // Porous rock.
        SurfaceKind.Gravel => Make(kind, loss: new(23.5, Desert), lagHours: new(0.5, Choice), slowShare: new(0.10, Choice)) with { NoonErrorKelvin = new(4.5, Wider) },
        // Dry: soil that is damp is cooler.
        SurfaceKind.Soil => Make(kind, loss: new(26.5, Satellite), lagHours: new(0.3, Satellite), slowShare: new(0.05, Satellite)) with
        {
            WindShareFraction = new(0.4, Satellite),
            NoonErrorKelvin = new(4, Wider),
        },
        SurfaceKind.Grass => Make(kind, loss: new(25, Rule), lagHours: new(0.3, Choice), slowShare: new(0.05, Choice)) with { EvaporatingFraction = new(0.92, Rule) },
        SurfaceKind.ArtificialTurf => Make(kind, loss: new(25, Between), lagHours: new(0.2, Between), slowShare: new(0.02, Between)),
        SurfaceKind.TimberDeck => Make(kind, loss: new(25, Between), lagHours: new(0.3, Between), slowShare: new(0.05, Between)),
        SurfaceKind.RubberTile => Make(kind, loss: new(27, Between), lagHours: new(0.4, Between), slowShare: new(0.08, Between)),
        SurfaceKind.MetalGrate => Make(kind, loss: new(43, Desert), lagHours: new(0.3, Choice), slowShare: new(0.02, Choice)),
        // The hottest there is.
        _ => Of(SurfaceKind.ArtificialTurf),
    };

    /// <summary>[K] Surface minus air.</summary>
    /// <param name="ground">The ground.</param>
    /// <param name="quickSun">[W/m²] Sun, lagged by <see cref="Ground.LagHours"/>.</param>
    /// <param name="slowSun">[W/m²] Sun, lagged by <see cref="SlowHours"/>.</param>
    /// <param name="windMetersPerSecond">[m/s] Wind, or <c>null</c>: a light breeze.</param>
    public static double OffsetKelvin(Ground ground, double quickSun, double slowSun, double? windMetersPerSecond)
    {
        var sun = (1 - ground.SlowShareFraction) * quickSun + ground.SlowShareFraction * slowSun;
        // A share of the loss goes with the wind, in proportion to what the wind takes from a plate.
        var wind = windMetersPerSecond ?? TypicalWindMetersPerSecond;
        var loss = ground.LossWattsPerSquareMeterKelvin
            * (1 - ground.WindShareFraction + ground.WindShareFraction * (StillAir + PerMeterPerSecond * wind) / (StillAir + PerMeterPerSecond * TypicalWindMetersPerSecond));
        return (ground.AbsorptanceFraction * (1 - ground.EvaporatingFraction) * sun - ground.NightLossWattsPerSquareMeter) / loss;
    }

    private static Ground Make(SurfaceKind kind, Figure loss, Figure lagHours, Figure slowShare)
    {
        var absorptance = SurfaceCatalogue.Of(kind).AbsorptanceFraction;
        return new(new(absorptance.Value, absorptance.Source), loss, lagHours, slowShare);
    }

    /// <summary>A number and where it is from.</summary>
    /// <param name="Value">The number, in the unit of what it is a figure of.</param>
    /// <param name="Source">Where it is from.</param>
    internal readonly record struct Figure(double Value, string Source)
    {
        public static implicit operator double(Figure figure) => figure.Value;
    }

    /// <summary>A kind of ground.</summary>
    /// <param name="AbsorptanceFraction">[fraction] Of the sun's light.</param>
    /// <param name="LossWattsPerSquareMeterKelvin">[W/(m²·K)] To air, sky and depth, in a light breeze.</param>
    /// <param name="LagHours">[h] Of the surface behind the sun.</param>
    /// <param name="SlowShareFraction">[fraction] Of the sun that works through the slow store.</param>
    internal sealed record Ground(
        Figure AbsorptanceFraction,
        Figure LossWattsPerSquareMeterKelvin,
        Figure LagHours,
        Figure SlowShareFraction)
    {
        /// <summary>[fraction] Of the absorbed light, spent on evaporation.</summary>
        public Figure EvaporatingFraction { get; init; } = new(0, "by definition: dry ground");

        /// <summary>[fraction] Of the loss, as much as goes with the wind.</summary>
        public Figure WindShareFraction { get; init; } = new(0.5, Choice);

        /// <summary>[W/m²] Thermal radiation lost under a clear sky, less what the ground gives back of the day.</summary>
        public Figure NightLossWattsPerSquareMeter { get; init; } = new(100, "common practice for a clear night, no source");

        /// <summary>[K] Mean absolute error by night before a spot has shown any.</summary>
        public Figure NightErrorKelvin { get; init; } = new(1.5, Choice);

        /// <summary>[K] Mean absolute error at noon before a spot has shown any.</summary>
        public Figure NoonErrorKelvin { get; init; } = new(3.5, Choice);
    }
}
