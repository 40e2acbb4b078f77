using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Contact;

/// <summary>How much hotter, or colder, the ground may be than a good reading of an infrared probe says.</summary>
/// <remarks>
/// The square root of the sum of squares of what the sensor, the minute and the emissivity leave open. The emissivity weighs most: hot
/// asphalt under a clear sky is 2 to 3 K hotter at 0.90 than at the 0.95 it was taken for.
/// </remarks>
public static class ReadingUncertainty
{
    /// <summary>[K] Of the minute's samples where nobody told how far they lay apart: flickering shade and gusts; common practice, no source.</summary>
    public const double UntoldSpreadKelvin = 0.3;

    // [K] MLX90614 data sheet, rev. 007 to 013: ±0.5 °C for an object of 0 to 50 °C; ±1 °C for one of 60 to 120 °C from memory.
    private const double SensorKelvin = 0.5;
    private const double HotSensorKelvin = 1;
    private const double SensorToCelsius = 50;
    private const double HotSensorFromCelsius = 60;

    // The extremes of tables are other finishes: blank steel, glazed brick. Our choice.
    private const double MostEmissivityFraction = 0.1;

    // An emissivity that somebody found for this very ground. Our choice.
    private const double OwnEmissivityFraction = 0.02;

    // Cool for any ground that is hot: with less reflected the emissivity weighs more. Our choice.
    private const double UntoldAirCelsius = 15;

    /// <summary>The hot end: skin is to be thought of as touching this.</summary>
    /// <param name="spot">Gives emissivity, its spread, and what the probe sees.</param>
    /// <param name="surfaceCelsius">[°C] The reading; −60 to 120.</param>
    /// <param name="airCelsius">[°C] The air, −60 to 60; <c>null</c> where it is not known.</param>
    /// <param name="humidityPercent">[%] Its relative humidity; <c>null</c> where it is not known.</param>
    /// <param name="spreadKelvin">[K] How far the minute's samples lay apart, one standard deviation; 0 or more.</param>
    /// <returns>[°C] Above the reading.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double UpperCelsius(
        Spot spot, double surfaceCelsius, double? airCelsius = null, double? humidityPercent = null, double spreadKelvin = UntoldSpreadKelvin) =>
        surfaceCelsius + Kelvin(spot, surfaceCelsius, airCelsius, humidityPercent, spreadKelvin);

    /// <summary>The cold end: ground under a clear sky that reflects more of it than was thought is warmer, one under cloud colder.</summary>
    /// <param name="spot">As above.</param>
    /// <param name="surfaceCelsius">[°C] As above.</param>
    /// <param name="airCelsius">[°C] As above.</param>
    /// <param name="humidityPercent">[%] As above.</param>
    /// <param name="spreadKelvin">[K] As above.</param>
    /// <returns>[°C] Below the reading, as far as the hot end is above it.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double LowerCelsius(
        Spot spot, double surfaceCelsius, double? airCelsius = null, double? humidityPercent = null, double spreadKelvin = UntoldSpreadKelvin) =>
        surfaceCelsius - Kelvin(spot, surfaceCelsius, airCelsius, humidityPercent, spreadKelvin);

    /// <summary>How far off it may be.</summary>
    /// <param name="spot">As above.</param>
    /// <param name="surfaceCelsius">[°C] As above.</param>
    /// <param name="airCelsius">[°C] As above.</param>
    /// <param name="humidityPercent">[%] As above.</param>
    /// <param name="spreadKelvin">[K] As above.</param>
    /// <returns>[K] Over 0.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double Kelvin(
        Spot spot, double surfaceCelsius, double? airCelsius = null, double? humidityPercent = null, double spreadKelvin = UntoldSpreadKelvin)
    {
        ArgumentNullException.ThrowIfNull(spot);
        Quantities.QuantityRanges.Surface.Require(surfaceCelsius);
        if (!(spreadKelvin >= 0 && double.IsFinite(spreadKelvin)))
            throw new ArgumentOutOfRangeException(nameof(spreadKelvin), spreadKelvin, "expected 0 or more");
        var sensor = SensorKelvin + (HotSensorKelvin - SensorKelvin)
            * Math.Clamp((surfaceCelsius - SensorToCelsius) / (HotSensorFromCelsius - SensorToCelsius), 0, 1);
        var emissivity = EmissivityKelvin(spot, surfaceCelsius, airCelsius ?? UntoldAirCelsius, humidityPercent);
        return Math.Sqrt(sensor * sensor + spreadKelvin * spreadKelvin + emissivity * emissivity);
    }

    private static double EmissivityKelvin(Spot spot, double surfaceCelsius, double airCelsius, double? humidityPercent)
    {
        var handbook = SurfaceCatalogue.Of(spot.Surface).EmissivityFraction;
        var taken = spot.EmissivityFraction ?? handbook.Value;
        var low = Math.Max(
            Quantities.QuantityRanges.SurfaceEmissivityLeastFraction,
            spot.EmissivityFraction is { } own ? own - OwnEmissivityFraction : Math.Max(handbook.Low, handbook.Value - MostEmissivityFraction));
        double? vapour = humidityPercent is { } humidity ? VapourPressure.Hectopascals(airCelsius, humidity) : null;
        var reflected = ReflectedSky.Celsius(spot.ProbeBand, airCelsius, vapour, ReflectedSky.UsualOpenSkyFraction);
        var seen = GreyBody.ApparentCelsius(surfaceCelsius, reflected, taken, spot.ProbeBand);
        return Math.Abs(GreyBody.SurfaceCelsius(seen, reflected, low, spot.ProbeBand) - surfaceCelsius);
    }
}
