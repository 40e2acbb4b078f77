using CsCheck;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Contact;

public sealed class ReadingUncertaintyTests
{
    private static Spot On(SurfaceKind kind, double? emissivity = null) =>
        new(SpotId.Parse("quarry-steps"), "Quarry Steps", kind, 37.4, -97, "America/Chicago") { EmissivityFraction = emissivity };

    [Fact]
    public void Sensor_minute_and_emissivity_add_up_in_squares()
    {
        var kelvin = ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt), 49, 30, 28.28, 0.4);
        Published.Near(2.134, kelvin, 0.002, "computed apart in Python: √(0.5² + 0.4² + emissivity 0.90 for 0.95 under the sky of 12 hPa, by Planck integration²)");
        Published.Near(49 + kelvin, ReadingUncertainty.UpperCelsius(On(SurfaceKind.Asphalt), 49, 30, 28.28, 0.4), 1e-12, "by definition");
        Published.Near(49 - kelvin, ReadingUncertainty.LowerCelsius(On(SurfaceKind.Asphalt), 49, 30, 28.28, 0.4), 1e-12, "by definition");
    }

    [Fact]
    public void A_probe_that_sees_the_window_leaves_more_open() =>
        Published.Near(2.741, ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt) with { ProbeBand = InfraredBand.Window }, 49, 30, 28.28, 0.4), 0.002,
            "computed apart in Python, as above, from 8 to 14 µm");

    [Fact]
    public void The_sensors_own_error_alone_is_left_where_nothing_is_reflected_that_differs() =>
        // Ground as warm as the sky it reflects shows the same at any emissivity.
        Published.Near(0.5, ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt), ReflectedSky.Celsius(InfraredBand.Wide, 30, 12, 0.8), 30,
            12 / Core.Weather.VapourPressure.Hectopascals(30, 1), 0), 1e-6, "MLX90614 data sheet: ±0.5 °C, object and sensor 0 to 50 °C");

    [Fact]
    public void An_emissivity_of_its_own_leaves_less_open_than_the_kinds() =>
        Assert.True(ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt, 0.95), 55, 33) < ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt), 55, 33) - 0.5);

    [Fact]
    public void It_is_over_the_sensors_own_and_never_wild() =>
        Gen.Select(Gen.Enum<SurfaceKind>(), Gen.Double[-30, 80], Gen.Double[-30, 45], Gen.Double[0, 100]).Sample((kind, surface, air, humidity) =>
            ReadingUncertainty.Kelvin(On(kind), surface, air, humidity) is >= 0.5 and < 16);

    [Theory]
    [InlineData(double.NaN, 0.3)]
    [InlineData(120.1, 0.3)]
    [InlineData(50, -0.1)]
    [InlineData(50, double.NaN)]
    public void What_is_out_of_range_is_refused(double surface, double spread) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ReadingUncertainty.Kelvin(On(SurfaceKind.Asphalt), surface, 30, 40, spread));
}
