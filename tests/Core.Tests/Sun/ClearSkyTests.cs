using PavementWatch.Core.Sun;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Sun;

public sealed class ClearSkyTests
{
    private const string Haurwitz = "Haurwitz 1945/1946, values of pvlib's tests";
    private const string Computed = "Haurwitz formula computed independently (check values 5.3)";

    [Theory]
    [InlineData(-90, 0, 0, Haurwitz)]
    [InlineData(-20, 0, 0, Haurwitz)]
    [InlineData(0, 0, 0, Haurwitz)]
    [InlineData(5, 48.6298687941956, 1e-9, Haurwitz)]
    [InlineData(10, 135.741748091813, 1e-9, Haurwitz)]
    [InlineData(20, 316.0358, 1e-4, Computed)]
    [InlineData(30, 487.894132885425, 1e-9, Haurwitz)]
    [InlineData(40, 643.8830, 1e-4, Computed)]
    [InlineData(50, 778.766689344363, 1e-9, Haurwitz)]
    [InlineData(60, 888.2713, 1e-4, Computed)]
    [InlineData(70, 968.9923, 1e-4, Computed)]
    [InlineData(90, 1035.09203253450, 1e-9, Haurwitz)]
    public void Irradiance_agrees_with_published_values(
        double elevation, double wattsPerSquareMeter, double tolerance, string source) =>
        Published.Near(wattsPerSquareMeter, ClearSky.GlobalWattsPerSquareMeter(elevation), tolerance, source);

    [Theory]
    [InlineData(90.001)]
    [InlineData(-90.001)]
    [InlineData(double.NaN)]
    public void What_is_no_elevation_is_refused(double elevation) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ClearSky.GlobalWattsPerSquareMeter(elevation));
}
