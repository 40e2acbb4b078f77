using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Surfaces;

/// <summary>What an infrared sensor set to emissivity 1 sees of a grey surface, and back.</summary>
/// <remarks>
/// A surface radiates ε of what a black one does and reflects (1 − ε) of what its surroundings radiate; the emissivity
/// is the same at every wavelength. Howell, Mengüç and Siegel, Thermal Radiation Heat Transfer, 6th ed. 2016, chapter 3;
/// from memory. A sensor that was set on a black body adds up what it sees in its own band (Planck's law); with none given the law is
/// Stefan–Boltzmann's T⁴, which a sensor's own firmware reckons with.
/// </remarks>
public static class GreyBody
{
    private const double ZeroCelsiusAbsoluteKelvin = 273.15;

    /// <summary>The surface's own temperature.</summary>
    /// <param name="measuredCelsius">[°C] What the sensor gives at emissivity 1; above −273.15.</param>
    /// <param name="reflectedCelsius">[°C] Temperature of the surroundings the surface reflects; above −273.15.</param>
    /// <param name="emissivityFraction">[fraction] <see cref="QuantityRanges.SurfaceEmissivity"/>; at 1 nothing is corrected.</param>
    /// <returns>[°C] The surface; further from the surroundings than measured. At least absolute zero.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double SurfaceCelsius(double measuredCelsius, double reflectedCelsius, double emissivityFraction)
    {
        QuantityRanges.SurfaceEmissivity.Require(emissivityFraction);
        var reflected = Fourth(reflectedCelsius, nameof(reflectedCelsius));
        var measured = Fourth(measuredCelsius, nameof(measuredCelsius));
        // A surface that seems colder than its share of the surroundings allows has no temperature; zero is the limit.
        return Root(Math.Max(0, ((measured - reflected) / emissivityFraction) + reflected));
    }

    /// <summary>What the sensor gives for a surface: the inverse of <see cref="SurfaceCelsius(double, double, double)"/>.</summary>
    /// <param name="surfaceCelsius">[°C] The surface's own temperature; above −273.15.</param>
    /// <param name="reflectedCelsius">[°C] Temperature of the surroundings the surface reflects; above −273.15.</param>
    /// <param name="emissivityFraction">[fraction] <see cref="QuantityRanges.SurfaceEmissivity"/>.</param>
    /// <returns>[°C] Between the surface and the surroundings.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double ApparentCelsius(double surfaceCelsius, double reflectedCelsius, double emissivityFraction)
    {
        QuantityRanges.SurfaceEmissivity.Require(emissivityFraction);
        return Root((emissivityFraction * Fourth(surfaceCelsius, nameof(surfaceCelsius)))
            + ((1 - emissivityFraction) * Fourth(reflectedCelsius, nameof(reflectedCelsius))));
    }

    /// <summary>The surface's own temperature, by what is seen in a band.</summary>
    /// <param name="measuredCelsius">[°C] What the sensor gives at emissivity 1; −173.15 and up.</param>
    /// <param name="reflectedCelsius">[°C] A black body that sends out in the band what the surroundings do, see <see cref="ReflectedSky"/>; −173.15 and up.</param>
    /// <param name="emissivityFraction">[fraction] <see cref="QuantityRanges.SurfaceEmissivity"/>; at 1 nothing is corrected.</param>
    /// <param name="band">What the sensor sees.</param>
    /// <returns>[°C] The surface; further from the surroundings than measured. At least −173.15.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double SurfaceCelsius(
        double measuredCelsius, double reflectedCelsius, double emissivityFraction, InfraredBand band)
    {
        QuantityRanges.SurfaceEmissivity.Require(emissivityFraction);
        var reflected = InfraredBands.PowerKelvin4(band, reflectedCelsius);
        var measured = InfraredBands.PowerKelvin4(band, measuredCelsius);
        return InfraredBands.Celsius(band, ((measured - reflected) / emissivityFraction) + reflected);
    }

    /// <summary>What the sensor gives for a surface, by what it sees in a band: the inverse of the above.</summary>
    /// <param name="surfaceCelsius">[°C] The surface's own temperature; −173.15 and up.</param>
    /// <param name="reflectedCelsius">[°C] A black body that sends out in the band what the surroundings do; −173.15 and up.</param>
    /// <param name="emissivityFraction">[fraction] <see cref="QuantityRanges.SurfaceEmissivity"/>.</param>
    /// <param name="band">What the sensor sees.</param>
    /// <returns>[°C] Between the surface and the surroundings.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not a number or outside its range.</exception>
    public static double ApparentCelsius(
        double surfaceCelsius, double reflectedCelsius, double emissivityFraction, InfraredBand band)
    {
        QuantityRanges.SurfaceEmissivity.Require(emissivityFraction);
        return InfraredBands.Celsius(band, (emissivityFraction * InfraredBands.PowerKelvin4(band, surfaceCelsius))
            + ((1 - emissivityFraction) * InfraredBands.PowerKelvin4(band, reflectedCelsius)));
    }

    private static double Fourth(double celsius, string name)
    {
        var absoluteKelvin = celsius + ZeroCelsiusAbsoluteKelvin;
        if (!(absoluteKelvin > 0 && double.IsFinite(absoluteKelvin)))
            throw new ArgumentOutOfRangeException(name, celsius, "expected above -273.15 °C");
        var square = absoluteKelvin * absoluteKelvin;
        return square * square;
    }

    private static double Root(double fourth) => Math.Sqrt(Math.Sqrt(fourth)) - ZeroCelsiusAbsoluteKelvin;
}
