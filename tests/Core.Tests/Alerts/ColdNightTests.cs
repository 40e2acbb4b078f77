using System.Text.Json;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
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
    public void After_it_was_told_to_be_over_the_next_frost_to_come_is_told_at_once() => Night()
        .At("06:01", Estimate(2, 4, in29Minutes: -0.5)).Expect(Told("06:01", Clear, Rising, ForecastReachesLimit))
        .Each("06:02", "06:05", Surface(0)).Expect(Told("06:03", Rising, TooHot, ReadingsOverLimit))
        .Each("06:06", "06:20", Surface(-1)).Each("06:21", "06:44", Surface(2.5))
        .Expect(Kept("06:21", TooHot, Easing, UnderByMargin), Told("06:31", Easing, Clear, UnderLongEnough))
        .At("06:45", Estimate(2, 4, in29Minutes: -0.5)).Expect(Told("06:45", Clear, Rising, ForecastReachesLimit))
        // Once only.
        .Each("06:46", "06:58", Surface(2.5)).At("06:59", Estimate(2, 4, in29Minutes: -0.5)).Expect(
            Kept("06:55", Rising, Clear, RiseEnded), Kept("06:59", Clear, Rising, ForecastReachesLimit));

    [Fact]
    public void So_it_is_where_the_estimate_told_that_it_was_over() => Night()
        .At("06:01", Estimate(2, 4, in29Minutes: -0.5)).Expect(Told("06:01", Clear, Rising, ForecastReachesLimit))
        .At("06:10", Estimate(2.9, 6)).Expect(Told("06:10", Rising, Silent, EstimateOverLimit))
        .Each("06:11", "06:21", Estimate(6, 8)).Expect(Told("06:21", Silent, Silent, EstimateUnderLongEnough))
        .Each("06:22", "06:30", Surface(3)).Expect(Kept("06:22", Silent, Clear, ReadingsBack))
        .At("06:31", Estimate(2, 4, in29Minutes: -0.5)).Expect(Told("06:31", Clear, Rising, ForecastReachesLimit));

    [Fact]
    public void A_forecast_that_lags_behind_ground_that_thaws_is_no_frost_to_come() => Night()
        .Each("06:01", "06:30", Surface(4.8)).At("06:31", Estimate(-1.2, 2, in29Minutes: -0.1)).Expect()
        .Each("06:32", "06:33", Surface(5)).At("06:34", Estimate(-0.3, 2, in29Minutes: -4.5)).Expect();

    [Fact]
    public void One_that_begins_beyond_what_is_measured_tells_of_frost_where_the_ground_would_fall_as_far() => Night()
        .Each("06:01", "06:30", Surface(4)).At("06:31", Estimate(-1, 2, in29Minutes: -5))
        .Expect(Told("06:31", Clear, Rising, ForecastReachesLimit));

    [Fact]
    public void One_that_lags_by_less_than_the_margin_is_taken_as_it_is() => Night()
        .Each("06:01", "06:30", Surface(3)).At("06:31", Estimate(1.1, 2, in29Minutes: -0.1))
        .Expect(Told("06:31", Clear, Rising, ForecastReachesLimit));

    [Fact]
    public void Where_the_ground_froze_the_end_of_the_cold_is_not_said_to_be_free_of_ice_before_it_has_thawed_for_hours()
    {
        var script = Night().Each("06:01", "07:30", Surface(-3)).Each("07:31", "07:41", Surface(2));
        Assert.Equal((UnderLongEnough, false), (script.Last!.Because, script.Last.HasNoIce));
        Assert.True(script.Memory.Ice!.MayBeIcy);
        Assert.True(script.Each("07:42", "10:41", Surface(4)).Memory.Ice!.MayBeIcy);
        // A restart between forgets nothing, and a silence begins the thaw anew.
        script.Memory = JsonSerializer.Deserialize<AlertMemory>(JsonSerializer.Serialize(script.Memory))!;
        Assert.True(script.Each("11:30", "14:29", Surface(4)).Memory.Ice!.MayBeIcy);
        Assert.False(script.At("14:30", Surface(4)).Memory.Ice!.MayBeIcy);
    }

    [Fact]
    public void Ground_that_was_too_cold_by_its_limit_and_never_froze_has_no_ice()
    {
        var script = By(4).Each("06:01", "06:02", Surface(3)).Each("06:03", "06:13", Surface(7));
        Assert.Equal((UnderLongEnough, true), (script.Last!.Because, script.Last.HasNoIce));
    }

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
    public void A_limit_of_its_own_is_kept() => By(4)
        .Each("06:01", "06:02", Surface(4.1)).Expect()
        .Each("06:03", "06:04", Surface(4)).Expect(Told("06:04", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void That_it_freezes_and_is_bitter_is_told_once_each_where_a_limit_over_freezing_told_of_the_cold_before() => By(4)
        .Each("06:01", "06:02", Surface(3)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
        .Each("06:03", "06:10", Surface(0.1)).Expect()
        .Each("06:11", "06:12", Surface(0)).Expect(Told("06:12", TooHot, TooHot, ReadingsFreezing))
        .Each("06:13", "06:20", Surface(2)).Each("06:21", "06:30", Surface(-3)).Expect()
        .Each("06:31", "06:32", Surface(-11)).Expect(Told("06:32", TooHot, TooHot, ReadingsExtreme))
        .Each("06:33", "06:40", Surface(-3)).Expect();

    [Fact]
    public void Ground_that_is_bitter_at_once_is_told_so_and_not_as_freezing_after() => By(4)
        .Each("06:01", "06:02", Surface(3)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
        .Each("06:03", "06:10", Surface(-11)).Expect(Told("06:04", TooHot, TooHot, ReadingsExtreme));

    [Fact]
    public void Where_freezing_is_what_the_limit_tells_it_is_told_once() => By(4)
        .Each("06:01", "06:10", Surface(-1)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void That_a_silent_spot_may_freeze_is_told_by_its_lower_end_where_too_cold_was() => By(4)
        .At("06:10", Estimate(6, 8)).Expect(Told("06:10", Clear, Silent, EstimateOverLimit)) // 6 − 3 K
        .At("06:11", Estimate(3.1, 6)).Expect()
        .At("06:12", Estimate(3, 6)).Expect(Told("06:12", Silent, Silent, EstimateFreezing))
        .At("06:13", Estimate(-7, -4)).Expect(Told("06:13", Silent, Silent, EstimateExtreme));

    [Fact]
    public void Ground_that_is_over_a_lowered_limit_is_said_to_be_so_and_not_to_be_warmer()
    {
        var script = By(5).Each("06:01", "06:02", Surface(3)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
            .Under(new AlertRule { ColdLimitChangedBy = LimitChanger.Business, LimitChangedBy = LimitChanger.Operator })
            .Each("06:03", "06:13", Surface(3))
            .Expect(Kept("06:03", TooHot, Easing, LimitRaised), Told("06:13", Easing, Clear, UnderRaisedLimit));
        Assert.Equal(
            (5.0, 0.0, LimitChanger.Business, 3.0), (script.Last!.LimitBeforeCelsius, script.Last.LimitCelsius, script.Last.LimitChangedBy, script.Last.SurfaceCelsius));
    }

    [Fact]
    public void Ground_that_warms_past_the_limit_as_it_was_is_no_longer_too_cold() => By(5)
        .Each("06:01", "06:02", Surface(3)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
        .Under(new AlertRule()).Each("06:03", "06:13", Surface(7))
        .Expect(Kept("06:03", TooHot, Easing, UnderByMargin), Told("06:13", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Ground_that_freezes_after_its_limit_was_lowered_is_told()
    {
        var script = By(5).Each("06:01", "06:02", Surface(3)).Expect(Told("06:02", Clear, TooHot, ReadingsOverLimit))
            .Under(new AlertRule()).At("06:03", Surface(3)).Expect(Kept("06:03", TooHot, Easing, LimitRaised));
        // A restart between forgets nothing.
        script.Memory = JsonSerializer.Deserialize<AlertMemory>(JsonSerializer.Serialize(script.Memory))!;
        script.Each("06:04", "06:05", Surface(-1))
            .Expect(Kept("06:04", Easing, TooHot, OverLimitAgain), Told("06:05", TooHot, TooHot, ReadingsFreezing));
    }

    [Fact]
    public void A_limit_raised_to_ground_that_is_as_cold_tells_of_it() => Night()
        .Each("06:01", "06:05", Surface(3)).Expect()
        .Under(new AlertRule { ColdLimitCelsius = 5 }).Each("06:06", "06:07", Surface(3)).Expect(Told("06:07", Clear, TooHot, ReadingsOverLimit));

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

    private static AlertScript By(double coldLimitCelsius) => new AlertScript(new AlertRule { ColdLimitCelsius = coldLimitCelsius }, cold: true)
        .At("06:00", Surface(10)).Expect(Kept("06:00", Silent, Clear, ReadingsBack));

    private static AlertScript Night() => new AlertScript(cold: true).At("06:00", Surface(3)).Expect(Kept("06:00", Silent, Clear, ReadingsBack));
}
