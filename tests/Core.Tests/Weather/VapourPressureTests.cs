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
}
