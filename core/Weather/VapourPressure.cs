namespace PavementWatch.Core.Weather;

/// <summary>Water vapour in air.</summary>
public static class VapourPressure
{
    /// <summary>Vapour pressure of saturated air over water.</summary>
    /// <param name="airCelsius">[°C] The air, −40 to 50; beyond, the formula still rises and falls but was not fitted.</param>
    /// <returns>[kPa] 0.61 at freezing, 2.34 at 20 °C.</returns>
    /// <remarks>Source: Alduchov and Eskridge, J. Appl. Meteorol. 35 (1996) 601–609, eq. 21 (Magnus form, within 0.4 %).</remarks>
    public static double SaturationKilopascals(double airCelsius) =>
        0.61094 * Math.Exp(17.625 * airCelsius / (airCelsius + 243.04));

    /// <summary>Vapour pressure of air.</summary>
    /// <param name="airCelsius">[°C] The air, as above.</param>
    /// <param name="humidityPercent">[%] Its relative humidity; 0 to 100.</param>
    /// <returns>[hPa] 0 for dry air.</returns>
    public static double Hectopascals(double airCelsius, double humidityPercent) =>
        humidityPercent / 10 * SaturationKilopascals(airCelsius);

    /// <summary>Dew point of air: the inverse of <see cref="SaturationKilopascals"/>.</summary>
    /// <param name="airCelsius">[°C] The air, as above.</param>
    /// <param name="humidityPercent">[%] Its relative humidity; 0 to 100.</param>
    /// <returns>[°C] The air's own temperature at 100 %, minus infinity for dry air.</returns>
    public static double DewPointCelsius(double airCelsius, double humidityPercent)
    {
        if (!(humidityPercent > 0))
            return humidityPercent == 0 ? double.NegativeInfinity : double.NaN;
        var log = Math.Log(humidityPercent / 100 * SaturationKilopascals(airCelsius) / 0.61094);
        return 243.04 * log / (17.625 - log);
    }
}
