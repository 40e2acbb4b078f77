using PavementWatch.Core.Power;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Power;

public sealed class PowerSizingTests
{
    private const string ByHand = "worked by hand: 240 Wh · 0.8 · 0.8, 3 W · 24 h, 50 W · 3 h · 0.7";

    private static readonly PowerRequest Cabin = new(240, 3)
    {
        Kind = BatteryKind.LithiumIronPhosphate,
        BatteryCelsius = 0,
        PanelWatts = 50,
        PeakSunHours = 3,
    };

    [Fact]
    public void Every_step_agrees_with_the_sum_worked_by_hand()
    {
        var sizing = PowerSizing.Of(Cabin);
        Published.Near(153.6, sizing.UsableWattHours, 1e-9, ByHand);
        Published.Near(72, sizing.LoadWattHoursPerDay, 1e-9, ByHand);
        Published.Near(2.133333, sizing.DaysOfAutonomy, 1e-6, ByHand);
        Published.Near(337.5, sizing.BatteryWattHoursNeeded, 1e-9, ByHand);
        Published.Near(105, sizing.PanelWattHoursPerDay!.Value, 1e-9, ByHand);
        Published.Near(33, sizing.SurplusWattHoursPerDay!.Value, 1e-9, ByHand);
        Published.Near(4.654545, sizing.DaysToRefill!.Value, 1e-6, ByHand);
        Published.Near(58.666667, sizing.PanelWattsNeeded!.Value, 1e-6, ByHand);
        Assert.False(sizing.LastsLongEnough);
        Assert.False(sizing.ChargesTooCold);
    }

    [Fact]
    public void The_battery_and_the_panel_it_asks_for_do_what_was_wanted()
    {
        var first = PowerSizing.Of(Cabin);
        var battery = PowerSizing.Of(Cabin with { BatteryWattHours = first.BatteryWattHoursNeeded });
        Published.Near(Cabin.WantedDays, battery.DaysOfAutonomy, 1e-9, "by definition");
        var panel = PowerSizing.Of(Cabin with { PanelWatts = first.PanelWattsNeeded });
        Published.Near(Cabin.RefillDays, panel.DaysToRefill!.Value, 1e-9, "by definition");
    }

    [Fact]
    public void A_panel_that_brings_less_than_the_load_never_refills()
    {
        var sizing = PowerSizing.Of(Cabin with { PanelWatts = 30 });
        Assert.True(sizing.SurplusWattHoursPerDay < 0);
        Assert.Null(sizing.DaysToRefill);
    }

    [Fact]
    public void Without_a_panel_nothing_is_said_of_it()
    {
        var sizing = PowerSizing.Of(new PowerRequest(240, 3));
        Assert.Null(sizing.PanelWattHoursPerDay);
        Assert.Null(sizing.SurplusWattHoursPerDay);
        Assert.Null(sizing.DaysToRefill);
        Assert.Null(sizing.PanelWattsNeeded);
    }

    [Theory]
    [InlineData(BatteryKind.LithiumIronPhosphate, -0.1, true)]
    [InlineData(BatteryKind.LithiumIronPhosphate, 0, false)]
    [InlineData(BatteryKind.LeadAcid, -0.1, false)]
    public void Charging_lithium_in_frost_is_noticed(BatteryKind kind, double celsius, bool tooCold) =>
        Assert.Equal(tooCold, PowerSizing.Of(Cabin with { Kind = kind, BatteryCelsius = celsius }).ChargesTooCold);

    public static TheoryData<string, PowerRequest> Wrong() => new()
    {
        { "BatteryWattHours", new(0, 3) },
        { "BatteryWattHours", new(100_001, 3) },
        { "BatteryWattHours", new(double.NaN, 3) },
        { "LoadWatts", new(240, 0) },
        { "LoadWatts", new(240, 1001) },
        { "UsableFraction", new(240, 3) { UsableFraction = 0 } },
        { "UsableFraction", new(240, 3) { UsableFraction = 1.01 } },
        { "BatteryCelsius", new(240, 3) { BatteryCelsius = 50.1 } },
        { "PanelWatts", new(240, 3) { PanelWatts = 0 } },
        { "PeakSunHours", new(240, 3) { PeakSunHours = 12.1 } },
        { "LossFraction", new(240, 3) { LossFraction = 0.91 } },
        { "WantedDays", new(240, 3) { WantedDays = 0.4 } },
        { "RefillDays", new(240, 3) { RefillDays = 61 } },
    };

    [Theory]
    [MemberData(nameof(Wrong))]
    public void A_value_out_of_range_is_refused_by_name(string named, PowerRequest request) =>
        Assert.Equal(named, Assert.Throws<ArgumentOutOfRangeException>(() => PowerSizing.Of(request)).ParamName);

    [Fact]
    public void Ends_of_the_ranges_are_accepted()
    {
        PowerSizing.Of(new(100_000, 1000) { UsableFraction = 1, BatteryCelsius = 50, PanelWatts = 10_000, PeakSunHours = 12, LossFraction = 0.9, WantedDays = 60, RefillDays = 60 });
        PowerSizing.Of(new(0.001, 0.001) { UsableFraction = 0.001, BatteryCelsius = -20, LossFraction = 0, WantedDays = 0.5, RefillDays = 0.5 });
    }
}
