using CsCheck;
using PavementWatch.Core.Power;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Power;

public sealed class BatteryTests
{
    [Theory]
    //          kind                              °C    factor tolerance source
    [InlineData(BatteryKind.LeadAcid, 25, 1.00, 0.005, "IEEE Std 485 Table 1, 1/1.00 (from memory)")]
    [InlineData(BatteryKind.LeadAcid, 15.6, 0.901, 0.01, "IEEE Std 485 Table 1, 1/1.11 (from memory)")]
    [InlineData(BatteryKind.LeadAcid, 10, 0.840, 0.01, "IEEE Std 485 Table 1, 1/1.19 (from memory)")]
    [InlineData(BatteryKind.LeadAcid, 4.4, 0.769, 0.01, "IEEE Std 485 Table 1, 1/1.30 (from memory)")]
    [InlineData(BatteryKind.LeadAcid, -3.9, 0.658, 0.01, "IEEE Std 485 Table 1, 1/1.52 (from memory)")]
    [InlineData(BatteryKind.LeadAcid, -18, 0.45, 0.06, "a battery seller's page: about 45 % at 0 °F")]
    [InlineData(BatteryKind.LeadAcid, 50, 1, 0, "by definition: heat is not counted on")]
    [InlineData(BatteryKind.LithiumIronPhosphate, -20, 0.70, 1e-12, "a battery maker's storage page: 70 % at −20 °C")]
    [InlineData(BatteryKind.LithiumIronPhosphate, 0, 0.80, 1e-12, "a battery maker's storage page: 80 % at 0 °C")]
    [InlineData(BatteryKind.LithiumIronPhosphate, 25, 1, 1e-12, "by definition: capacity is stated at 25 °C")]
    [InlineData(BatteryKind.LithiumIronPhosphate, 50, 1, 0, "by definition: heat is not counted on")]
    public void Capacity_falls_with_cold_as_published(BatteryKind kind, double celsius, double fraction, double tolerance, string source) =>
        Published.Near(fraction, Battery.CapacityFraction(kind, celsius), tolerance, source);

    [Theory]
    [InlineData(BatteryKind.LeadAcid)]
    [InlineData(BatteryKind.LithiumIronPhosphate)]
    public void A_warmer_battery_never_gives_less(BatteryKind kind) =>
        Gen.Select(Gen.Double[-20, 50], Gen.Double[-20, 50]).Sample((a, b) =>
            Assert.True(Battery.CapacityFraction(kind, Math.Min(a, b)) <= Battery.CapacityFraction(kind, Math.Max(a, b))));

    [Theory]
    [InlineData(-20.01)]
    [InlineData(50.01)]
    [InlineData(double.NaN)]
    public void Temperatures_the_figures_do_not_hold_for_are_refused(double celsius) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => Battery.CapacityFraction(BatteryKind.LeadAcid, celsius));

    [Fact]
    public void An_unknown_kind_is_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => Battery.CapacityFraction((BatteryKind)7, 20));
        Assert.Throws<ArgumentOutOfRangeException>(() => Battery.UsableFraction((BatteryKind)7));
    }
}
