using PavementWatch.Core.Alerts;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>A spot that is measured. Expected changes: design of the product, section 9, with its limit of 49 °C.</summary>
public class HotDayTests
{
    [Fact]
    public void A_hot_day_is_told_before_when_it_comes_and_when_it_is_over() => new AlertScript()
        .At("10:00", Surface(38))
        .Expect(Kept("10:00", Silent, Clear, ReadingsBack))
        .At("12:30", Estimate(44, 47, in29Minutes: 49.5)) // two and a half hours without a reading
        .Expect(Kept("12:30", Clear, Silent, NoGoodReading))
        .At("12:31", Surface(44)).At("12:32", Estimate(44, 45, in29Minutes: 49.5))
        .Expect(Kept("12:31", Silent, Clear, ReadingsBack), Told("12:32", Clear, Rising, ForecastReachesLimit))
        .Each("12:33", "12:50", Surface(48)).At("12:51", Surface(49)).At("12:52", Surface(49.2))
        .Expect(Told("12:52", Rising, TooHot, ReadingsOverLimit))
        .Each("12:53", "14:00", Surface(58))
        .Expect(Told("12:54", TooHot, TooHot, ReadingsExtreme))
        .Each("14:01", "14:03", Surface(47))
        .At("14:04", Surface(48)) // not far enough under: the ten minutes start again
        .Each("14:05", "14:14", Surface(46.5))
        .Expect(Kept("14:01", TooHot, Easing, UnderByMargin))
        .Each("14:15", "14:16", Surface(46))
        .Expect(Told("14:15", Easing, Clear, UnderLongEnough));

    [Theory]
    [InlineData(48.999, false)]
    [InlineData(49.0, true)]
    public void The_limit_itself_is_too_hot(double celsius, bool tooHot)
    {
        var script = Cleared().At("10:01", Surface(celsius)).At("10:02", Surface(celsius));
        Assert.Equal(tooHot ? TooHot : Clear, script.Memory.State);
    }

    [Fact]
    public void One_reading_over_the_limit_does_not_raise_an_alarm() => Cleared()
        .At("10:01", Surface(60)).At("10:02", Surface(48.9)).At("10:03", Surface(60)).Expect();

    [Fact]
    public void As_many_readings_as_the_rule_asks_for_raise_it() => Cleared(new AlertRule { TooHotReadings = 3 })
        .At("10:01", Surface(60)).At("10:02", Surface(60)).Expect()
        .At("10:03", Surface(60)).Expect(Told("10:03", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void The_same_reading_delivered_twice_counts_once() => Cleared()
        .At("10:01", Surface(60)).At("10:02", Surface(60, measuredAt: "10:01")).Expect();

    [Fact]
    public void An_older_reading_that_overtakes_nothing_changes_nothing() => Cleared()
        .At("10:02", Surface(60)).At("10:03", Surface(30, measuredAt: "10:01")).At("10:04", Surface(60))
        .Expect(Told("10:04", Clear, TooHot, ReadingsOverLimit));

    [Theory]
    [InlineData(47.0, Easing)]
    [InlineData(47.001, TooHot)]
    public void It_eases_at_the_margin_itself(double celsius, AlertState expected) =>
        Assert.Equal(expected, Hot().At("11:01", Surface(celsius)).Memory.State);

    [Fact]
    public void It_is_over_ten_minutes_after_the_first_eased_reading_and_not_before() => Hot()
        .Each("11:01", "11:10", Surface(45))
        .Expect(Kept("11:01", TooHot, Easing, UnderByMargin))
        .At("11:10:59", Surface(45)).Expect()
        .At("11:11", Surface(45)).Expect(Told("11:11", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Over_the_limit_again_is_recorded_and_not_told_twice() => Hot()
        .Each("11:01", "11:05", Surface(45)).At("11:06", Surface(49))
        .Expect(Kept("11:01", TooHot, Easing, UnderByMargin), Kept("11:06", Easing, TooHot, OverLimitAgain))
        .Each("11:07", "11:17", Surface(45))
        .Expect(Kept("11:07", TooHot, Easing, UnderByMargin), Told("11:17", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Time_alone_does_not_clear() => Hot()
        .At("11:01", Surface(45)).Each("11:02", "11:30", Nothing())
        .Expect(Kept("11:01", TooHot, Easing, UnderByMargin), Kept("11:04", Easing, Silent, NoGoodReading));

    [Fact]
    public void A_steep_rise_is_told_before_the_limit()
    {
        // By arithmetic: 42.75 °C at 10:00 and 0.25 K a minute reach 49 °C at 10:25.
        var script = new AlertScript();
        for (var minute = 0; minute <= 5; minute++)
            script.At($"10:0{minute}", Surface(42.75 + (0.25 * minute)));
        script.Expect(Kept("10:00", Silent, Clear, ReadingsBack), Told("10:04", Clear, Rising, TrendReachesLimit));
        Assert.Equal(0, (script.Last!.ReachesAt!.Value - Clock("10:25")).TotalSeconds, 0.01);
    }

    [Theory]
    [InlineData(0.1, Clear)] // 3 K in 30 minutes from 45.9
    [InlineData(0.2, Rising)] // 6 K
    public void A_rise_that_does_not_reach_the_limit_in_half_an_hour_is_not_told(double kelvinPerMinute, AlertState expected)
    {
        var script = new AlertScript().At("09:59", Surface(45.9 - (10 * kelvinPerMinute)));
        for (var minute = 0; minute < 10; minute++)
            script.At($"10:0{minute}", Surface(45.9 - (kelvinPerMinute * (9 - minute))));
        Assert.Equal(expected, script.Memory.State);
    }

    [Fact]
    public void A_forecast_beyond_the_lead_is_not_yet_told() => Cleared()
        .At("10:01", Estimate(45, 46, in29Minutes: 48.9, in31Minutes: 55)).Expect()
        .At("10:02", Estimate(45, 46, in29Minutes: 49)).Expect(Told("10:02", Clear, Rising, ForecastReachesLimit));

    [Theory]
    [InlineData(1.9, Clear)]
    [InlineData(2.0, Rising)]
    public void A_forecast_warns_by_its_lean_to_the_warm_side(double leanKelvin, AlertState expected)
    {
        var script = Cleared();
        var now = Clock("10:01");
        var ahead = new SurfaceEstimate(now.AddMinutes(20), 47, 44, 50) { LeanKelvin = leanKelvin };
        script.At("10:01", _ => new Estimated(now, new SurfaceEstimate(now, 45, 42, 46), [ahead]));
        Assert.Equal(expected, script.Memory.State);
    }

    [Fact]
    public void A_rise_is_told_once_an_hour() => new AlertScript()
        // Too near the limit to be called off in between.
        .At("10:00", Surface(48)).Expect(Kept("10:00", Silent, Clear, ReadingsBack))
        .At("10:01", Estimate(45, 46, in29Minutes: 50)).Each("10:02", "10:12", Surface(48))
        .Expect(Told("10:01", Clear, Rising, ForecastReachesLimit), Kept("10:11", Rising, Clear, RiseEnded))
        .At("10:13", Estimate(45, 46, in29Minutes: 50)).Each("10:14", "10:59", Surface(48))
        .Expect(Kept("10:13", Clear, Rising, ForecastReachesLimit), Kept("10:23", Rising, Clear, RiseEnded))
        .At("11:00:59", Estimate(45, 46, in29Minutes: 50)).Each("11:01", "11:30", Surface(48))
        .Expect(Kept("11:00:59", Clear, Rising, ForecastReachesLimit), Kept("11:11", Rising, Clear, RiseEnded))
        .At("11:31", Estimate(45, 46, in29Minutes: 50)).Expect(Told("11:31", Clear, Rising, ForecastReachesLimit));

    [Fact]
    public void While_it_is_too_hot_or_easing_no_forecast_matters() => Hot()
        .At("11:01", Estimate(40, 42, in29Minutes: 60)).At("11:02", Surface(45)).At("11:03", Estimate(40, 42, in29Minutes: 60))
        .Expect(Kept("11:02", TooHot, Easing, UnderByMargin));

    [Fact]
    public void A_reading_without_a_surface_is_no_reading_of_the_surface() => Hot()
        .Each("11:01", "11:03", Surface(null)).Expect(Kept("11:03", TooHot, Silent, NoGoodReading));

    [Fact]
    public void A_rejected_reading_is_none() => Cleared()
        .Each("10:01", "10:02", Surface(70, ReadingQuality.Rejected)).Expect()
        .At("10:03", Surface(20, ReadingQuality.Rejected)).Expect(Kept("10:03", Clear, Silent, NoGoodReading));

    internal static AlertScript Cleared(AlertRule? rule = null) =>
        new AlertScript(rule).At("10:00", Surface(40)).Expect(Kept("10:00", Silent, Clear, ReadingsBack));

    internal static AlertScript Hot(AlertRule? rule = null) => new AlertScript(rule)
        .At("10:59", Surface(58)).At("11:00", Surface(58)).Expect(Told("11:00", Silent, TooHot, ReadingsOverLimit));
}
