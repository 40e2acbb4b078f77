using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>A rise that was told and does not come. Expected changes: design of the product, section 9, by the rules of its all-clear.</summary>
public class RiseCalledOffTests
{
    [Fact]
    public void A_rise_that_does_not_come_is_called_off_once_no_forecast_takes_it_to_the_limit() => Risen()
        // At 10:30 the hour of what was forecast is there, and it is not hot.
        .Each("10:02", "10:29", Surface(40)).Expect(Kept("10:11", Rising, Clear, RiseEnded))
        .Each("10:30", "12:00", Surface(40)).Expect(Told("10:30", Clear, Clear, RiseCalledOff));

    [Fact]
    public void A_forecast_whose_upper_end_reaches_the_limit_within_the_hour_holds_it_back() => Risen()
        .Each("10:02", "10:20", Surface(40)).At("10:20:30", Estimate(40, 42, in31Minutes: 47)).Each("10:21", "10:51", Surface(40))
        .Expect(Kept("10:11", Rising, Clear, RiseEnded))
        .At("10:52", Surface(40)).Expect(Told("10:52", Clear, Clear, RiseCalledOff));

    [Fact]
    public void Readings_under_the_limit_by_less_than_the_margin_call_nothing_off()
    {
        var script = Risen().Each("10:02", "12:00", Surface(48));
        Assert.Equal((RiseEnded, true), (script.Last!.Because, script.Memory.RiseTold));
        script.Expect(Kept(At(script.Last.At), Rising, Clear, RiseEnded))
            .Each("12:01", "12:30", Surface(46)).Expect(Told("12:11", Clear, Clear, RiseCalledOff));
    }

    [Fact]
    public void While_the_sun_could_bring_it_there_nothing_is_called_off()
    {
        var plaza = new Spot(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
        var rule = new AlertRule { Sun = SunReturn.Of(plaza), Zone = TimeZoneInfo.FindSystemTimeZoneById("America/Chicago") };
        // 13:00 by the spot's clock is 18:00; the sun sets at about 01:50.
        var script = new AlertScript(rule).At("18:00", Surface(40)).At("18:01", Estimate(45, 46, in29Minutes: 50)).Each("18:02", "22:00", Surface(40)).Expect(
            Kept("18:00", Silent, Clear, ReadingsBack), Told("18:01", Clear, Rising, ForecastReachesLimit), Kept("18:11", Rising, Clear, RiseEnded));
        script.Each("22:01", "1.01:59", Surface(36));
        Assert.Equal((RiseCalledOff, true), (script.Last!.Because, script.Last.Notify));
        Assert.InRange(script.Last.At, Clock("22:30"), Clock("1.01:30"));
    }

    [Fact]
    public void A_rise_that_comes_is_called_off_by_the_all_clear_alone() => Risen()
        .Each("10:02", "10:03", Surface(49)).Expect(Told("10:03", Rising, TooHot, ReadingsOverLimit))
        .Each("10:04", "12:30", Surface(45)).Expect(Kept("10:04", TooHot, Easing, UnderByMargin), Told("10:30", Easing, Clear, UnderLongEnough));

    [Fact]
    public void The_next_rise_is_told_at_once_and_no_second_one_is_called_off_within_two_hours() => Risen()
        .Each("10:02", "10:35", Surface(40)).Expect(Kept("10:11", Rising, Clear, RiseEnded), Told("10:30", Clear, Clear, RiseCalledOff))
        .At("10:36", Estimate(45, 46, in29Minutes: 50)).Expect(Told("10:36", Clear, Rising, ForecastReachesLimit))
        .Each("10:37", "12:29", Surface(40)).Expect(Kept("10:46", Rising, Clear, RiseEnded))
        .Each("12:30", "14:00", Surface(40)).Expect(Told("12:30", Clear, Clear, RiseCalledOff));

    [Fact]
    public void What_was_told_of_a_rise_ends_with_the_day()
    {
        var script = new AlertScript().Each("23:30", "23:40", Surface(40)).At("23:40:30", Estimate(45, 46, in29Minutes: 50)).Each("23:41", "1.02:00", Surface(40)).Expect(
            Kept("23:30", Silent, Clear, ReadingsBack), Told("23:40:30", Clear, Rising, ForecastReachesLimit), Kept("23:51", Rising, Clear, RiseEnded));
        Assert.False(script.Memory.RiseTold);
    }

    [Fact]
    public void While_it_is_silent_the_estimates_upper_end_calls_it_off() => Risen()
        .Each("10:05", "10:14", Estimate(40, 44)).Expect(Kept("10:05", Rising, Silent, NoGoodReading))
        .Each("10:15", "12:00", Estimate(40, 44)).Expect(Told("10:15", Silent, Silent, RiseCalledOff));

    [Fact]
    public void Silence_alone_calls_nothing_off() => Risen()
        .Each("10:02", "14:00", Nothing()).Expect(Kept("10:03", Rising, Silent, NoGoodReading));

    [Fact]
    public void What_a_server_told_six_hours_ago_it_does_not_call_off() =>
        Assert.Equal((true, false), (Risen().Memory.AfterAbsence(TimeSpan.FromHours(5.9)).RiseTold, Risen().Memory.AfterAbsence(TimeSpan.FromHours(6)).RiseTold));

    [Fact]
    public void Ice_that_was_told_to_come_and_does_not_is_called_off_too() => new AlertScript(cold: true)
        .At("20:00", Surface(4)).At("20:01", Estimate(2, 4, in29Minutes: -1)).Each("20:02", "22:00", Surface(4)).Expect(
            Kept("20:00", Silent, Clear, ReadingsBack), Told("20:01", Clear, Rising, ForecastReachesLimit),
            Kept("20:11", Rising, Clear, RiseEnded), Told("20:30", Clear, Clear, RiseCalledOff));

    [Fact]
    public void Ice_that_was_told_before_midnight_to_come_after_it_is_called_off_in_the_night() => new AlertScript(cold: true)
        .At("23:50", Surface(4)).At("23:51", Estimate(2, 4, in29Minutes: -1)).Each("23:52", "1.03:00", Surface(4)).Expect(
            Kept("23:50", Silent, Clear, ReadingsBack), Told("23:51", Clear, Rising, ForecastReachesLimit),
            Kept("1.00:01", Rising, Clear, RiseEnded), Told("1.00:20", Clear, Clear, RiseCalledOff));

    [Theory]
    [InlineData("1.11:50", true)]
    [InlineData("1.11:51", false)]
    public void Ice_that_was_told_to_come_and_neither_came_nor_was_called_off_stands_for_half_a_day(string now, bool stands) =>
        Assert.Equal(stands, new AlertScript(cold: true)
            .At("23:50", Surface(4)).At("23:51", Estimate(2, 4, in29Minutes: -1)).At(now, Nothing()).Memory.Cold!.RiseTold);

    private static AlertScript Risen() =>
        HotDayTests.Cleared().At("10:01", Estimate(45, 46, in29Minutes: 50)).Expect(Told("10:01", Clear, Rising, ForecastReachesLimit));

    private static string At(DateTimeOffset moment) => moment.ToString("HH:mm", System.Globalization.CultureInfo.InvariantCulture);
}
