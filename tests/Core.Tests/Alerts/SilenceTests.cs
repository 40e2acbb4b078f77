using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>A spot without good readings. Expected changes: design of the product, sections 6 and 9.</summary>
public class SilenceTests
{
    [Fact]
    public void Three_intervals_without_a_good_reading_make_it_silent() => HotDayTests.Cleared()
        .At("10:02:59", Nothing()).Expect()
        .At("10:03", Nothing()).Expect(Kept("10:03", Clear, Silent, NoGoodReading));

    [Fact]
    public void Silence_while_too_hot_is_no_all_clear_whatever_the_estimate_says() => HotDayTests.Hot()
        .Each("11:01", "13:00", Estimate(30, 33))
        .Expect(
            Kept("11:03", TooHot, Silent, NoGoodReading),
            Kept("11:13", Silent, Silent, EstimateUnderLongEnough))
        // The next hot spell is news again, and a measured one can still be called off by readings.
        .At("14:00", Estimate(46, 49)).Expect(Told("14:00", Silent, Silent, EstimateOverLimit))
        .Each("14:01", "14:02", Surface(55)).Expect(Kept("14:01", Silent, TooHot, ReadingsBack))
        .Each("14:03", "14:13", Surface(40))
        .Expect(Kept("14:03", TooHot, Easing, UnderByMargin), Told("14:13", Easing, Clear, UnderLongEnough));

    [Fact]
    public void A_hot_spell_that_lapsed_in_silence_is_called_off_when_readings_come_back() => HotDayTests.Hot()
        .Each("11:01", "20:00", Estimate(30, 33))
        .Expect(Kept("11:03", TooHot, Silent, NoGoodReading), Kept("11:13", Silent, Silent, EstimateUnderLongEnough))
        .Each("20:01", "20:11", Surface(30))
        .Expect(Kept("20:01", Silent, Easing, ReadingsBack), Told("20:11", Easing, Clear, UnderLongEnough));

    [Fact]
    public void A_network_lost_for_forty_minutes_while_too_hot_is_not_told_twice() => HotDayTests.Hot()
        .Each("11:01", "11:40", Estimate(56, 60))
        .Expect(Kept("11:03", TooHot, Silent, NoGoodReading))
        .At("11:41", Surface(57, measuredAt: "11:05")).At("11:41", Surface(57, measuredAt: "11:30")).Expect() // the backlog
        .At("11:41", Surface(57)).Expect(Kept("11:41", Silent, TooHot, ReadingsBack));

    [Fact]
    public void A_silent_spot_whose_estimate_may_be_over_the_limit_is_told_as_too_hot() => HotDayTests.Cleared()
        .At("10:04", Estimate(44, 48.99)).Expect(Kept("10:04", Clear, Silent, NoGoodReading))
        .At("10:05", Estimate(45, 49)).Expect(Told("10:05", Silent, Silent, EstimateOverLimit))
        .At("10:06", Estimate(45, 50)).Expect();

    [Fact]
    public void A_spot_that_was_never_measured_is_told_by_its_estimate_but_not_called_off() => new AlertScript()
        .At("11:00", Estimate(40, 44)).Expect()
        .At("12:00", Estimate(46, 50)).Expect(Told("12:00", Silent, Silent, EstimateOverLimit))
        .Each("17:00", "17:05", Estimate(42, 47)).At("17:06", Estimate(42, 47.1)) // not far enough under: anew
        .Each("17:07", "17:16", Estimate(42, 47)).Expect()
        .At("17:17", Estimate(42, 47)).Expect(Kept("17:17", Silent, Silent, EstimateUnderLongEnough))
        .At("18:00", Estimate(46, 50)).Expect(Told("18:00", Silent, Silent, EstimateOverLimit)); // news again

    [Fact]
    public void Silence_and_an_estimate_over_the_limit_at_once_are_one_change() => HotDayTests.Cleared()
        .At("10:30", Estimate(50, 53)).Expect(Told("10:30", Clear, Silent, EstimateOverLimit));

    [Fact]
    public void An_estimate_that_is_not_a_number_says_nothing() => new AlertScript()
        .At("12:00", Estimate(46, 50)).Expect(Told("12:00", Silent, Silent, EstimateOverLimit))
        .Each("12:01", "12:30", Estimate(double.NaN, double.NaN)).Expect();

    [Fact]
    public void Suspect_readings_do_not_ease_a_hot_spot_and_do_not_break_silence() => HotDayTests.Hot()
        .Each("11:01", "11:30", Suspect(20))
        .Expect(Kept("11:03", TooHot, Silent, NoGoodReading));

    [Fact]
    public void Suspect_readings_over_the_limit_do_not_disturb_good_ones() => HotDayTests.Cleared()
        .At("10:01", Suspect(80)).At("10:02", Surface(40)).At("10:03", Suspect(80)).At("10:04", Suspect(80)).Expect();

    [Fact]
    public void Where_only_doubtful_readings_speak_and_say_hot_they_are_told() => HotDayTests.Cleared()
        .Each("10:01", "10:02", Suspect(60)).Expect()
        .At("10:03", Suspect(60)).Expect(Told("10:03", Clear, Silent, DoubtfulOverLimit))
        // A cool estimate does not call it off while the sensor keeps saying hot.
        .Each("10:04", "10:30", Suspect(60)).At("10:30", Estimate(30, 33)).Each("10:31", "10:45", Suspect(60))
        .At("10:45", Estimate(30, 33)).Expect();

    [Fact]
    public void One_doubtful_reading_over_the_limit_is_not_told() => new AlertScript()
        .At("10:00", Suspect(60)).At("10:01", Suspect(30)).At("10:02", Suspect(60)).Expect()
        .At("10:05", Suspect(60)).Expect(); // three minutes later the first no longer counts

    [Fact]
    public void A_backlog_never_raises_an_alarm() => HotDayTests.Cleared()
        .At("10:01", Surface(41)).At("10:01", Surface(70, measuredAt: "09:30")).At("10:01", Surface(70, measuredAt: "09:31"))
        .At("10:01", Surface(70, measuredAt: "09:57")).Expect();

    [Theory]
    [InlineData("09:58:01", true)]
    [InlineData("09:58:00", false)]
    public void A_reading_as_old_as_the_silent_span_is_history(string measuredAt, bool live)
    {
        var script = new AlertScript().At("10:01", Surface(40, measuredAt: measuredAt));
        Assert.Equal(live ? Clear : Silent, script.Memory.State);
    }

    [Theory]
    [InlineData("10:02", true)]
    [InlineData("10:02:01", false)]
    public void A_reading_from_more_than_an_interval_ahead_is_not_believed(string measuredAt, bool live)
    {
        var script = new AlertScript().At("10:01", Surface(40, measuredAt: measuredAt));
        Assert.Equal(live ? Clear : Silent, script.Memory.State);
    }

    [Fact]
    public void The_first_reading_over_the_limit_leaves_a_new_spot_silent_and_the_second_is_told() => new AlertScript()
        .At("10:00", Surface(55)).Expect()
        .At("10:01", Surface(55)).Expect(Told("10:01", Silent, TooHot, ReadingsOverLimit));

    [Fact]
    public void Readings_on_both_sides_of_a_gap_nobody_saw_do_not_add_up() => HotDayTests.Cleared()
        .At("10:01", Surface(55)).At("10:20", Surface(55))
        .Expect(Kept("10:20", Clear, Silent, NoGoodReading))
        .At("10:21", Surface(55)).Expect(Told("10:21", Silent, TooHot, ReadingsOverLimit));

    [Fact]
    public void A_gap_nobody_saw_starts_the_ten_minutes_anew() => HotDayTests.Hot()
        .At("11:01", Surface(45)).At("12:00", Surface(45))
        .Expect(Kept("11:01", TooHot, Easing, UnderByMargin))
        .Each("12:01", "12:10", Surface(45)).Expect(Told("12:10", Easing, Clear, UnderLongEnough));

    [Fact]
    public void A_clock_set_back_makes_silent_and_then_readings_count_again() => HotDayTests.Cleared()
        .At("09:00", Nothing()).Expect(Kept("09:00", Clear, Silent, NoGoodReading))
        .At("09:01", Surface(41)).Expect(Kept("09:01", Silent, Clear, ReadingsBack));
}
