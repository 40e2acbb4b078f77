using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Surfaces;

/// <summary>What a surface reflects into the infrared sensor: part clear sky, part surroundings at the air's temperature.</summary>
/// <remarks>
/// An infrared sensor sees the sky in its own wavelengths, where the air is far clearer than on the whole: a sky taken
/// over the whole spectrum (Swinbank 1963) is too warm and made the surface read 0.4 to 2 K too cold at emissivities of 0.95 to
/// 0.90, in the window of the air up to 4 K. Clouds are warmer than a clear sky: at emissivity 0.95 an overcast one taken
/// for clear reads the surface about 1 K too hot, in the window 2 K; for heat the cautious side.
/// </remarks>
public static class ReflectedSky
{
    /// <summary>[hPa] Vapour where no humidity is known: dry air has the colder sky, under which the surface is the hotter. Our choice.</summary>
    public const double DryHectopascals = 5;

    /// <summary>[fraction] Share of sky around a sensor in the open, mounted or in a hand, unless somebody says otherwise: all but its mast, or who holds it. Our choice.</summary>
    public const double UsualOpenSkyFraction = 0.8;

    /// <summary>What a clear sky sends out from 8 to 14 µm against a black body at the air's temperature.</summary>
    /// <param name="airCelsius">[°C] The air near the ground, <see cref="QuantityRanges.Air"/>.</param>
    /// <param name="vapourHectopascals">[hPa] Its vapour pressure; 0 or more, finite.</param>
    /// <returns>[fraction] 0.24 for air without vapour, up to 1.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    /// <remarks>
    /// Source: S. B. Idso, A set of equations for full spectrum and 8- to 14-µm and 10.5- to 12.5-µm thermal radiation from
    /// cloudless skies, Water Resour. Res. 17 (1981) 295–304: 0.24 + 2.98·10⁻⁸ e² exp(3000/T); from memory.
    /// </remarks>
    public static double WindowEmissivityFraction(double airCelsius, double vapourHectopascals)
    {
        QuantityRanges.Air.Require(airCelsius);
        if (!(vapourHectopascals >= 0 && double.IsFinite(vapourHectopascals)))
            throw new ArgumentOutOfRangeException(nameof(vapourHectopascals), vapourHectopascals, "expected 0 or more");
        return Math.Min(1, 0.24 + (2.98e-8 * vapourHectopascals * vapourHectopascals * Math.Exp(3000 / (airCelsius + 273.15))));
    }

    /// <summary>Temperature of a black body that sends into the sensor what the surroundings do.</summary>
    /// <param name="band">What the sensor sees.</param>
    /// <param name="airCelsius">[°C] The air near the ground, <see cref="QuantityRanges.Air"/>.</param>
    /// <param name="vapourHectopascals">[hPa] Its vapour pressure; <c>null</c> takes <see cref="DryHectopascals"/>.</param>
    /// <param name="openSkyFraction">[fraction] Share of the half sphere that is sky, <see cref="QuantityRanges.OpenSky"/>.</param>
    /// <param name="cloudFraction">[fraction] Share of the sky that cloud fills, taken to be as warm as the air; 0 to 1, 0 unless given.</param>
    /// <returns>[°C] The air's temperature under a roof, down to the clear sky's in the open; never above the air's.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    /// <remarks>From 5.5 to 8 µm the air's vapour lets nothing through and the sky counts as black.</remarks>
    public static double Celsius(
        InfraredBand band, double airCelsius, double? vapourHectopascals, double openSkyFraction, double cloudFraction = 0)
    {
        QuantityRanges.OpenSky.Require(openSkyFraction);
        if (!(cloudFraction is >= 0 and <= 1))
            throw new ArgumentOutOfRangeException(nameof(cloudFraction), cloudFraction, "expected 0 to 1");
        var clear = WindowEmissivityFraction(airCelsius, vapourHectopascals ?? DryHectopascals);
        var missing = openSkyFraction * (1 - cloudFraction) * (1 - clear);
        if (missing == 0)
            return airCelsius;
        var (below, window) = InfraredBands.BelowWindowAndWindow(airCelsius);
        return InfraredBands.Celsius(band, (band == InfraredBand.Wide ? below : 0) + ((1 - missing) * window));
    }
}
