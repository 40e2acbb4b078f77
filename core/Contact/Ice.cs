using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Contact;

/// <summary>Whether ground may be icy: water on it, or hoar frost out of the air.</summary>
public static class Ice
{
    /// <summary>Whether ground may be icy.</summary>
    /// <param name="surfaceCelsius">[°C] The ground, or the lower end of what it may be at; NaN is not icy.</param>
    /// <param name="airCelsius">[°C] The air; <c>null</c> where it is not known.</param>
    /// <param name="humidityPercent">[%] Its relative humidity; <c>null</c> where it is not known.</param>
    /// <param name="wet">Whether the ground is known to be wet.</param>
    /// <returns>
    /// Over freezing never. At or under it where it is wet, where the air's dew point lies over the ground, and where nothing tells
    /// how damp the air is.
    /// </returns>
    public static bool MayForm(double surfaceCelsius, double? airCelsius, double? humidityPercent, bool wet)
    {
        if (!(surfaceCelsius <= GroundWords.FreezingUpToCelsius))
            return false;
        return wet || airCelsius is not { } air || humidityPercent is not { } humidity
            || !(VapourPressure.DewPointCelsius(air, humidity) <= surfaceCelsius);
    }
}
