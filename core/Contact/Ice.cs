using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Contact;

/// <summary>Whether ice may form on the ground: of water on it, or as hoar frost out of the air. How long it lies: <see cref="IceMemory"/>.</summary>
public static class Ice
{
    /// <summary>Whether ice may form.</summary>
    /// <param name="surfaceCelsius">[°C] The ground, or the lower end of what it may be at; NaN is not icy.</param>
    /// <param name="airCelsius">[°C] The air; <c>null</c> where it is not known.</param>
    /// <param name="humidityPercent">[%] Its relative humidity; <c>null</c> where it is not known.</param>
    /// <param name="wet">Whether the ground is known to be wet.</param>
    /// <returns>
    /// Over freezing never. At or under it, as it is shown with one decimal, where it is wet, where the air's dew point lies over the
    /// ground, and where nothing tells how damp the air is.
    /// </returns>
    public static bool MayForm(double surfaceCelsius, double? airCelsius, double? humidityPercent, bool wet)
    {
        if (!IsFrozen(surfaceCelsius))
            return false;
        return wet || airCelsius is not { } air || humidityPercent is not { } humidity || IsUnderDewPoint(surfaceCelsius, air, humidity);
    }

    /// <summary>Whether the word for a surface is freezing or bitter.</summary>
    internal static bool IsFrozen(double surfaceCelsius) => GroundWords.IsAt(-surfaceCelsius, -GroundWords.FreezingUpToCelsius);

    /// <summary>Whether the air's dew point lies over the ground.</summary>
    internal static bool IsUnderDewPoint(double surfaceCelsius, double airCelsius, double humidityPercent) =>
        !(VapourPressure.DewPointCelsius(airCelsius, humidityPercent) <= surfaceCelsius);
}
