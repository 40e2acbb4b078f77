using CsCheck;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Surfaces;

public sealed class ReflectedSkyTests
{
    private const string Idso = "check values 3.2a: Idso 1981 from memory, computed apart";
    private const string Apart = "check values 3.2a: computed apart by Planck integration, sky share 0.8, surroundings as warm as the air";

    private static readonly double[] Emissivities = [0.97, 0.95, 0.92, 0.90];

    [Theory]
    //          hPa   air emissivity
    [InlineData(12.0, 30, 0.325)]
    [InlineData(12.0, 35, 0.313)]
    [InlineData(25.0, 35, 0.555)]
    [InlineData(8.0, 40, 0.268)]
    public void The_skys_emissivity_in_the_window_agrees(double vapour, double air, double emissivity) =>
        Published.Near(emissivity, ReflectedSky.WindowEmissivityFraction(air, vapour), 5e-4, Idso);

    public static TheoryData<double, double, double, InfraredBand, double[]> Errors() => new()
    {
        // Surface, air, vapour, band, error of the whole spectrum's sky at emissivities of 0.97, 0.95, 0.92 and 0.90.
        { 49, 30, 12, InfraredBand.Window, [-0.73, -1.25, -2.06, -2.64] },
        { 49, 35, 25, InfraredBand.Window, [-0.48, -0.82, -1.36, -1.74] },
        { 49, 40, 8, InfraredBand.Window, [-1.04, -1.78, -2.95, -3.78] },
        { 60, 35, 12, InfraredBand.Window, [-0.80, -1.36, -2.25, -2.88] },
        { 49, 30, 12, InfraredBand.Wide, [-0.38, -0.65, -1.07, -1.37] },
        { 49, 35, 25, InfraredBand.Wide, [-0.23, -0.40, -0.66, -0.85] },
        { 49, 40, 8, InfraredBand.Wide, [-0.61, -1.04, -1.73, -2.21] },
        { 60, 35, 12, InfraredBand.Wide, [-0.42, -0.72, -1.19, -1.52] },
    };

    [Theory]
    [MemberData(nameof(Errors))]
    public void The_sky_of_the_window_gives_the_surface_that_the_whole_spectrums_sky_misses(
        double surface, double air, double vapour, InfraredBand band, double[] errors)
    {
        ArgumentNullException.ThrowIfNull(errors);
        for (var i = 0; i < errors.Length; i++)
        {
            var reflected = ReflectedSky.Celsius(band, air, vapour, 0.8);
            var seen = GreyBody.ApparentCelsius(surface, reflected, Emissivities[i], band);
            Published.Near(errors[i], GreyBody.SurfaceCelsius(seen, OfWholeSpectrum(air, 0.8), Emissivities[i]) - surface, 0.0051, Apart);
            Published.Near(surface, GreyBody.SurfaceCelsius(seen, reflected, Emissivities[i], band), 1e-6, "by definition: the same sky");
        }
    }

    [Fact]
    public void More_sky_is_never_warmer_and_never_above_the_air() =>
        Gen.Select(Gen.Enum<InfraredBand>(), Gen.Double[-60, 60], Gen.Double[0, 100], Gen.Double[0, 1], Gen.Double[0, 1]).Sample((band, air, humidity, a, b) =>
        {
            var vapour = VapourPressure.Hectopascals(air, humidity);
            return ReflectedSky.Celsius(band, air, vapour, Math.Max(a, b)) <= ReflectedSky.Celsius(band, air, vapour, Math.Min(a, b)) + 1e-9
                && ReflectedSky.Celsius(band, air, vapour, a) <= air + 1e-9;
        });

    [Fact]
    public void Damper_air_and_cloud_are_never_colder_and_unknown_humidity_is_dry() =>
        Gen.Select(Gen.Enum<InfraredBand>(), Gen.Double[0, 45], Gen.Double[0, 60], Gen.Double[0, 60], Gen.Double[0, 1]).Sample((band, air, a, b, cloud) =>
            ReflectedSky.Celsius(band, air, Math.Min(a, b), 0.8) <= ReflectedSky.Celsius(band, air, Math.Max(a, b), 0.8) + 1e-9
            && ReflectedSky.Celsius(band, air, a, 0.8) <= ReflectedSky.Celsius(band, air, a, 0.8, cloud) + 1e-9
            && ReflectedSky.Celsius(band, air, null, 0.8) == ReflectedSky.Celsius(band, air, 5, 0.8));

    [Theory]
    [InlineData(60.1, 10, 0.8, 0)]
    [InlineData(double.NaN, 10, 0.8, 0)]
    [InlineData(30, -0.1, 0.8, 0)]
    [InlineData(30, double.NaN, 0.8, 0)]
    [InlineData(30, 10, 1.1, 0)]
    [InlineData(30, 10, 0.8, 1.1)]
    public void What_is_out_of_range_is_refused(double air, double vapour, double openSky, double cloud) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ReflectedSky.Celsius(InfraredBand.Wide, air, vapour, openSky, cloud));

    /// <summary>Swinbank 1963 from memory, 0.0552 T^1.5, as the gateway once took it for what its sensor sees.</summary>
    private static double OfWholeSpectrum(double airCelsius, double openSky)
    {
        var air = airCelsius + 273.15;
        var sky = 0.0552 * Math.Pow(air, 1.5);
        return Math.Pow(openSky * Math.Pow(sky, 4) + (1 - openSky) * Math.Pow(air, 4), 0.25) - 273.15;
    }
}
