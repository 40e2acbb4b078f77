using CsCheck;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Surfaces;

public sealed class GreyBodyTests
{
    private const string Computed = "Stefan–Boltzmann, computed apart with Python";

    [Theory]
    //          measured reflected emissivity surface
    [InlineData(60, 25, 0.93, 62.2252)]
    [InlineData(60, 25, 0.95, 61.5606)]
    [InlineData(50, 30, 0.97, 50.5620)]
    [InlineData(65, 35, 0.90, 67.8784)]
    public void Corrected_surface_agrees(double measured, double reflected, double emissivity, double surface) =>
        Published.Near(surface, GreyBody.SurfaceCelsius(measured, reflected, emissivity), 5e-5, Computed);

    [Theory]
    //          surface reflected emissivity apparent
    [InlineData(60, -20, 0.93, 56.0437)]
    [InlineData(60, -20, 0.95, 57.1886)]
    [InlineData(60, -20, 0.90, 54.3035)]
    [InlineData(65, -20, 0.90, 59.0462)]
    public void Apparent_temperature_agrees(double surface, double reflected, double emissivity, double apparent) =>
        Published.Near(apparent, GreyBody.ApparentCelsius(surface, reflected, emissivity), 5e-5, Computed);

    [Fact]
    public void Correcting_undoes_what_the_surface_did() =>
        Gen.Select(Gen.Double[-50, 120], Gen.Double[-60, 60], Gen.Double[0.1, 1]).Sample((surface, reflected, emissivity) =>
            Math.Abs(GreyBody.SurfaceCelsius(
                GreyBody.ApparentCelsius(surface, reflected, emissivity), reflected, emissivity) - surface) < 1e-9);

    [Fact]
    public void A_black_surface_is_not_corrected() =>
        Published.Near(60, GreyBody.SurfaceCelsius(60, -40, 1), 1e-9, "by definition");

    [Theory]
    [InlineData(60, 20, 0.0999)]
    [InlineData(60, 20, 1.0001)]
    [InlineData(60, 20, double.NaN)]
    [InlineData(-273.15, 20, 0.95)]
    [InlineData(double.NaN, 20, 0.95)]
    [InlineData(60, double.PositiveInfinity, 0.95)]
    public void What_is_out_of_range_is_refused(double measured, double reflected, double emissivity)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => GreyBody.SurfaceCelsius(measured, reflected, emissivity));
        Assert.Throws<ArgumentOutOfRangeException>(() => GreyBody.ApparentCelsius(measured, reflected, emissivity));
    }

    [Theory]
    [InlineData(0.1)]
    [InlineData(1.0)]
    public void The_edges_of_emissivity_are_inside(double emissivity) =>
        Assert.True(double.IsFinite(GreyBody.SurfaceCelsius(60, 20, emissivity)));
}
