using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Weather;

public class VapourPressureTests
{
    private const string Table = "FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), annex 2, table 2.3; from memory";

    [Theory]
    [InlineData(10, 1.228, 0.005, Table)]
    [InlineData(20, 2.338, 0.005, Table)]
    [InlineData(30, 4.243, 0.015, Table)]
    [InlineData(40, 7.376, 0.03, Table)]
    [InlineData(0, 0.6112, 0.001, "Triple point of water 0.6117 kPa at 0.01 °C (IAPWS), from memory; saturation at 0 °C")]
    public void Saturation_agrees_with_published_values(double air, double kilopascals, double tolerance, string source) =>
        Published.Near(kilopascals, VapourPressure.SaturationKilopascals(air), tolerance, source);

    [Theory]
    [InlineData(25, 50, 13.9, 0.1, "Lawrence, Bull. Am. Meteorol. Soc. 86 (2005) 225: dew point of 25 °C and 50 %, from memory")]
    [InlineData(2, 80, -1.1, 0.1, "psychrometric tables, from memory; computed apart by Tetens' formula")]
    [InlineData(10, 100, 10, 1e-9, "by definition")]
    public void Dew_point_agrees(double air, double humidity, double dewPoint, double tolerance, string source) =>
        Published.Near(dewPoint, VapourPressure.DewPointCelsius(air, humidity), tolerance, source);

    [Fact]
    public void Dry_air_has_no_dew_point()
    {
        Assert.Equal(double.NegativeInfinity, VapourPressure.DewPointCelsius(20, 0));
        Assert.Equal(double.NaN, VapourPressure.DewPointCelsius(20, double.NaN));
    }
}
