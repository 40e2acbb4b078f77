using CsCheck;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Surfaces;

public sealed class ReflectedSkyTests
{
    [Theory]
    //          air   open  reflected source
    [InlineData(30.0, 1.0, 18.20699, "Swinbank 1963 from memory, computed apart with Python")]
    [InlineData(0.0, 1.0, -23.95410, "Swinbank 1963 from memory, computed apart with Python")]
    [InlineData(30.0, 0.5, 24.27880, "the same, half of the power from the air's temperature")]
    [InlineData(30.0, 0.0, 30.0, "by definition: no sky")]
    public void Reflected_temperature_agrees(double air, double open, double reflected, string source) =>
        Published.Near(reflected, ReflectedSky.Celsius(air, open), 1e-5, source);

    [Fact]
    public void More_sky_is_never_warmer_and_never_above_the_air() =>
        Gen.Select(Gen.Double[-60, 60], Gen.Double[0, 1], Gen.Double[0, 1]).Sample((air, a, b) =>
            ReflectedSky.Celsius(air, Math.Max(a, b)) <= ReflectedSky.Celsius(air, Math.Min(a, b)) + 1e-9
            && ReflectedSky.Celsius(air, a) <= air + 1e-9);
}
