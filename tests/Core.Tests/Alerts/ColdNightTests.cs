using System.Text.Json;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>The machine turned over for the cold. Of it <see cref="TooHot"/> means at or under the cold limit, 0 °C unless set.</summary>
public sealed class ColdNightTests
{
    [Fact]
    public void A_cold_morning_is_told_before_when_it_comes_and_when_it_is_over() => Night()
        .At("06:09", Surface(2)).At("06:10", Estimate(2, 4, in29Minutes: -0.5))
        .Expect(Told("06:10", Clear, Rising, ForecastReachesLimit))
        .Each("06:11", "06:18", Surface(1)).Each("06:19", "06:20", Surface(0))
        .Expect(Told("06:20", Rising, TooHot, ReadingsOverLimit))
        .Each("06:21", "07:30", Surface(-3))
        .Each("07:31", "07:41", Surface(2))
        .Expect(Kept("07:31", TooHot, Easing, UnderByMargin), Told("07:41", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Bitter_ground_is_told_even_where_freezing_was() => Night()
        .Each("06:01", "06:02", Surface(-2)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
        .Each("06:03", "06:04", Surface(-10)).Expect(Told("06:04", TooHot, TooHot, ReadingsExtreme));

    [Fact]
    public void The_estimates_lower_end_rules_a_silent_spot()
    {
        var script = Night()
            .At("06:10", Estimate(2.9, 6)).Expect(Told("06:10", Clear, Silent, EstimateOverLimit)); // 2.9 − 3 K
        Assert.Equal((2.9, -0.1), (script.Last!.SurfaceCelsius!.Value, Math.Round(script.Last.UpperCelsius!.Value, 6)));
        Assert.Equal((AlertSide.Cold, 0), (script.Last.Side, script.Last.LimitCelsius));
    }

    [Theory]
    [InlineData(Doubt.Disagrees, true)]
    [InlineData(Doubt.Disagrees | Doubt.Spike, true)]
    [InlineData(Doubt.Wet, true)]
    [InlineData(Doubt.Stuck, false)]
    [InlineData(Doubt.Wet | Doubt.Clock, false)]
    public void What_is_doubted_for_being_too_cool_warns_of_the_cold_at_once(Doubt doubt, bool warns)
    {
        var script = Night().Each("06:01", "06:02", now => new Measured(now, new Reading(SpotId.Parse("north-gate-plaza"), now)
        {
            SurfaceCelsius = -2,
            Quality = ReadingQuality.Suspect,
            Doubt = doubt,
        }));
        script.Expect(warns ? [Told("06:02", Clear, TooHot, ReadingsOverLimit)] : []);
    }

    [Fact]
    public void A_van_over_a_hot_spot_is_no_frost_to_come()
    {
        var script = Night();
        for (var minute = 1; minute < 20; minute++)
            script.At($"06:{minute:00}", now => new Measured(now, new Reading(SpotId.Parse("north-gate-plaza"), now)
            {
                SurfaceCelsius = 54 - minute,
                Quality = ReadingQuality.Suspect,
                Doubt = Doubt.Disagrees,
            }));
        script.Expect(Kept("06:03", Clear, Silent, NoGoodReading));
    }

    [Fact]
    public void A_limit_of_its_own_is_kept() => new AlertScript(new AlertRule { ColdLimitCelsius = -5 }, cold: true)
        .At("06:00", Surface(10)).Each("06:01", "06:02", Surface(-4.9))
        .Expect(Kept("06:00", Silent, Clear, ReadingsBack))
        .Each("06:03", "06:04", Surface(-5)).Expect(Told("06:04", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void Heat_and_cold_are_remembered_side_by_side_and_read_back_equal()
    {
        var memory = Night().Each("06:01", "06:02", Surface(-2)).Memory;
        var both = AlertMachine.Step(memory, Surface(50)(Clock("12:00")), new AlertRule()).Memory;
        Assert.Equal(memory.Cold, both.Cold);
        Assert.Equal(-2, both.Cold!.LastGoodCelsius);
        Assert.NotEqual(both, both with { Cold = null });
        Assert.Equal(both, JsonSerializer.Deserialize<AlertMemory>(JsonSerializer.Serialize(both)));
        // An earlier edition kept none.
        Assert.Null(JsonSerializer.Deserialize<AlertMemory>("""{"State":"Clear"}""")!.Cold);
    }

    private static AlertScript Night() => new AlertScript(cold: true).At("06:00", Surface(3)).Expect(Kept("06:00", Silent, Clear, ReadingsBack));
}
