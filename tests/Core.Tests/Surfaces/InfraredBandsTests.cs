using CsCheck;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Surfaces;

public sealed class InfraredBandsTests
{
    [Theory]
    [InlineData(InfraredBand.Wide, 5.5)]
    [InlineData(InfraredBand.Window, 8)]
    public void Power_agrees_with_a_sum_over_Plancks_law(InfraredBand band, double fromMicrometers)
    {
        for (var celsius = -60; celsius <= 380; celsius += 20)
        {
            var summed = Planck(fromMicrometers, 14, celsius + 273.15);
            Published.Near(1, InfraredBands.PowerKelvin4(band, celsius) / summed, 1e-9, $"Planck's law summed over wavelength by Simpson's rule, {celsius} °C");
        }
    }

    [Fact]
    public void Shares_of_black_body_radiation_agree_with_the_table()
    {
        // 8 to 14 µm at 300 K: λT of 2400 and 4200 µm·K.
        Published.Near(0.51600 - 0.14026, InfraredBands.PowerKelvin4(InfraredBand.Window, 300 - 273.15) / Math.Pow(300, 4), 2e-5,
            "Howell, Mengüç and Siegel 2016, table of black-body fractions, 0.14026 at 2400 µm·K and 0.51600 at 4200 µm·K, from memory");
    }

    [Fact]
    public void Temperature_is_the_powers_inverse() =>
        Gen.Select(Gen.Enum<InfraredBand>(), Gen.Double[-170, 400]).Sample((band, celsius) =>
            Math.Abs(InfraredBands.Celsius(band, InfraredBands.PowerKelvin4(band, celsius)) - celsius) < 1e-8);

    [Theory]
    [InlineData(-1e9)]
    [InlineData(0.0)]
    [InlineData(1e-9)]
    public void No_power_is_as_cold_as_it_gets(double power) =>
        Assert.Equal(-173.15, InfraredBands.Celsius(InfraredBand.Wide, power), 9);

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(-173.16)]
    public void What_is_no_temperature_or_power_is_refused(double value)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => InfraredBands.PowerKelvin4(InfraredBand.Wide, value));
        if (!double.IsFinite(value))
            Assert.Throws<ArgumentOutOfRangeException>(() => InfraredBands.Celsius(InfraredBand.Wide, value));
    }

    private static double Planck(double fromMicrometers, double toMicrometers, double absoluteKelvin)
    {
        // 2πhc²/σ in µm⁴·K⁴ is 15 c₂⁴/π⁴; c₂ of the SI of 2019.
        const double c2 = 14387.768775;
        const int steps = 4000;
        var width = (toMicrometers - fromMicrometers) / steps;
        double sum = 0;
        for (var i = 0; i <= steps; i++)
        {
            var lambda = fromMicrometers + i * width;
            var weight = i is 0 or steps ? 1 : i % 2 == 1 ? 4 : 2;
            sum += weight / (Math.Pow(lambda, 5) * (Math.Exp(c2 / (lambda * absoluteKelvin)) - 1));
        }

        return 15 / Math.Pow(Math.PI, 4) * Math.Pow(c2, 4) * sum * width / 3;
    }
}
