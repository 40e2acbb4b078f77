using CsCheck;
using PavementWatch.Core.Contact;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Contact;

public class ContactTemperatureTests
{
    [Theory]
    //          k     rho·c     contact, source of k and rho·c
    [InlineData(0.75, 1.94e6, 46.669, "Oke 1987, asphalt")]
    [InlineData(1.51, 2.11e6, 49.275, "Oke 1987, dense concrete")]
    [InlineData(0.83, 1.37e6, 45.838, "Oke 1987, brick")]
    [InlineData(2.19, 2.25e6, 50.648, "Oke 1987, stone")]
    [InlineData(3.5, 2800 * 936, 52.447, "SKAT 1993, granite")]
    [InlineData(0.19, 1.52e6, 41.467, "Oke 1987, dense wood")]
    [InlineData(53.3, 3.93e6, 57.970, "Oke 1987, mild steel")]
    [InlineData(0.30, 1.28e6, 42.316, "Oke 1987, sandy soil, dry")]
    [InlineData(0.17, 1500 * 1470, 42.242, "CIBSE Guide A, rubber")]
    public void Contact_with_ground_at_60_agrees_with_values_computed_elsewhere(
        double k, double rhoC, double contact, string source)
    {
        var effusivity = ContactTemperature.Effusivity(k, rhoC, 1);
        Published.Near(contact, ContactTemperature.Celsius(60, effusivity), 5e-4, source + "; computed in Python 3.11");
    }

    [Fact]
    public void The_worked_example_of_hot_glass_agrees_in_each_step()
    {
        const string source = "public school-physics simulation: glass at 90 °C on skin at 33 °C, stated 64.5 °C";
        var glass = ContactTemperature.Effusivity(1.14, 2230, 830);
        Published.Near(1452.6, glass, 0.05, source);
        Published.Near(1176.4, ContactTemperature.SkinEffusivity, 0.05, source);
        Published.Near(64.4947, ContactTemperature.Celsius(90, glass, 33), 5e-5, source);
    }

    [Fact]
    public void Limits_are_as_the_formula_has_them()
    {
        Published.Near(45, ContactTemperature.Celsius(60, 1000, 30, 1000), 1e-9, "By definition: equal effusivities give the mean");
        Published.Near(60, ContactTemperature.Celsius(60, 1e15, 30, 1000), 1e-6, "By definition: an endless effusivity keeps its temperature");
        Published.Near(37, ContactTemperature.Celsius(37, 2000, 37), 1e-9, "By definition: equal temperatures");
    }

    [Fact]
    public void The_interface_lies_between_the_two() =>
        Gen.Select(Gen.Double[-50, 120], Gen.Double[100, 15_000], Gen.Double[20, 40]).Sample(
            (surface, effusivity, skin) =>
            {
                var contact = ContactTemperature.Celsius(surface, effusivity, skin);
                Assert.InRange(contact, Math.Min(surface, skin) - 1e-9, Math.Max(surface, skin) + 1e-9);
            },
            iter: 2_000);

    [Theory]
    [InlineData(double.NaN, 1000)]
    [InlineData(60, 0)]
    [InlineData(60, -1)]
    [InlineData(60, double.NaN)]
    [InlineData(60, double.PositiveInfinity)]
    public void Values_that_make_no_sense_are_refused(double surface, double effusivity) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ContactTemperature.Celsius(surface, effusivity));
}
