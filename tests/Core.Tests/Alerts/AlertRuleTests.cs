using System.Text.Json;
using CsCheck;
using PavementWatch.Core.Alerts;

namespace PavementWatch.Core.Tests.Alerts;

public class AlertRuleTests
{
    [Fact]
    public void The_rule_unless_set_is_the_designs()
    {
        var rule = new AlertRule();
        Assert.Equal((49.0, 2, 2.0, 10.0, 60.0, 120.0, 30.0, 3.0),
            (rule.LimitCelsius, rule.TooHotReadings, rule.EasingKelvin, rule.ClearAfter.TotalMinutes,
                rule.AllClearHolds.TotalMinutes, rule.AllClearQuiet.TotalMinutes,
                rule.RisingLead.TotalMinutes, rule.SilentAfter.TotalMinutes));
    }

    [Theory]
    [InlineData(30)]
    [InlineData(52)]
    public void Limits_at_the_edges_are_taken(double celsius) =>
        Assert.Equal(celsius, new AlertRule { LimitCelsius = celsius }.LimitCelsius);

    [Theory]
    [InlineData(29.99)]
    [InlineData(52.01)]
    [InlineData(double.NaN)]
    public void Limits_outside_are_refused_by_name(double celsius)
    {
        var thrown = Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { LimitCelsius = celsius });
        Assert.Contains("expected 30 to 52 °C", thrown.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void The_other_ranges_are_enforced_as_well()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { TooHotReadings = 0 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { EasingKelvin = -0.1 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { ClearAfter = TimeSpan.FromHours(2.1) });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { AllClearHolds = TimeSpan.FromHours(4.1) });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { AllClearQuiet = TimeSpan.FromHours(12.1) });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { RisingLead = TimeSpan.FromHours(3.1) });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { RisingQuiet = TimeSpan.FromHours(12.1) });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { Interval = TimeSpan.Zero });
        Assert.Throws<ArgumentOutOfRangeException>(() => new AlertRule { SilentIntervals = 1 });
    }

    [Fact]
    public void What_is_remembered_survives_as_JSON_at_every_step_of_any_day() =>
        AlertProperties.Days.Sample(
            day =>
            {
                var (kept, stored) = (AlertMemory.Start(day[0].Now), AlertMemory.Start(day[0].Now));
                foreach (var input in day)
                {
                    var (a, b) = (AlertMachine.Step(kept, input, new AlertRule()), AlertMachine.Step(stored, input, new AlertRule()));
                    Assert.Equal(a.Decision, b.Decision);
                    kept = a.Memory;
                    stored = JsonSerializer.Deserialize<AlertMemory>(JsonSerializer.Serialize(b.Memory))!;
                    Assert.Equal(kept, stored);
                    Assert.Equal(kept.GetHashCode(), stored.GetHashCode());
                }
            },
            iter: 200);
}
