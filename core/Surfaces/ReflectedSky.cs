using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Surfaces;

/// <summary>What a surface reflects into the infrared sensor: part clear sky, part surroundings at the air's temperature.</summary>
public static class ReflectedSky
{
    private const double ZeroCelsiusAbsoluteKelvin = 273.15;

    /// <summary>Temperature of the surroundings that a surface reflects.</summary>
    /// <param name="airCelsius">[°C] The air near the ground, <see cref="QuantityRanges.Air"/>; the caller's care.</param>
    /// <param name="openSkyFraction">[fraction] Share of the half sphere that is sky, <see cref="QuantityRanges.OpenSky"/>; the caller's care.</param>
    /// <returns>[°C] The air's temperature under a roof, down to the clear sky's in the open; never above the air's.</returns>
    /// <remarks>
    /// Clear sky: Swinbank, Long-wave radiation from clear skies, Q. J. R. Meteorol. Soc. 89 (1963) 339–348,
    /// T_sky = 0.0552 T_air^1.5, kelvin; from memory. Mixed by radiated power (T⁴). Clouds are warmer: at emissivity
    /// 0.95 taking an overcast sky for a clear one reads the surface about 0.5 K too hot, the cautious side.
    /// </remarks>
    public static double Celsius(double airCelsius, double openSkyFraction)
    {
        var airAbsoluteKelvin = airCelsius + ZeroCelsiusAbsoluteKelvin;
        var skyAbsoluteKelvin = Math.Min(0.0552 * Math.Pow(airAbsoluteKelvin, 1.5), airAbsoluteKelvin);
        var power = (openSkyFraction * Fourth(skyAbsoluteKelvin)) + ((1 - openSkyFraction) * Fourth(airAbsoluteKelvin));
        return Math.Sqrt(Math.Sqrt(power)) - ZeroCelsiusAbsoluteKelvin;
    }

    private static double Fourth(double value) => value * value * value * value;
}
