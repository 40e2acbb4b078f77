using PavementWatch.Core.Alerts;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>What was told ends with the spot's local day. Expected changes: design of the product, section 9.</summary>
public class MidnightTests
{
    // UTC−5 in July: midnight there is 05:00 UTC.
    private static readonly AlertRule Chicago = new() { Zone = TimeZoneInfo.FindSystemTimeZoneById("America/Chicago") };

    [Fact]
    public void A_server_that_is_off_from_one_hot_day_to_the_next_warns_on_each() => HotDayTests.Hot()
        .Each("11:01", "17:00", Surface(58)).Expect()
        .At("1.12:00", Surface(55)).Expect(Kept("1.12:00", TooHot, Silent, NoGoodReading))
        .At("1.12:01", Surface(55)).Expect(Told("1.12:01", Silent, TooHot, ReadingsOverLimit));

    [Theory]
    [InlineData(5.99, false)]
    [InlineData(6, true)]
    public void Six_hours_in_which_nobody_looked_begin_afresh(double hours, bool toldAgain)
    {
        var script = HotDayTests.Hot();
        script.Memory = script.Memory.AfterAbsence(TimeSpan.FromHours(hours));
        script.Each("17:01", "17:02", Surface(55));
        Assert.Equal((TooHot, toldAgain), (script.Memory.State, script.Last!.At == Clock("17:02")));
    }

    [Fact]
    public void A_spot_that_is_silent_without_an_estimate_from_one_hot_day_to_the_next_is_told_on_each() => HotDayTests.Hot()
        .Each("11:01", "1.11:59", Nothing()).Expect(Kept("11:03", TooHot, Silent, NoGoodReading))
        .Each("1.12:00", "1.12:01", Surface(55)).Expect(Told("1.12:01", Silent, TooHot, ReadingsOverLimit));

    [Fact]
    public void A_spot_that_was_only_estimated_hot_is_told_again_on_the_next_day() => new AlertScript()
        .At("12:00", Estimate(46, 50)).Expect(Told("12:00", Silent, Silent, EstimateOverLimit))
        .Each("12:01", "1.11:59", Nothing()).Expect()
        .At("1.12:00", Estimate(46, 50)).Expect(Told("1.12:00", Silent, Silent, EstimateOverLimit));

    [Fact]
    public void Measured_heat_over_midnight_is_one_spell() => HotDayTests.Hot()
        .Each("11:01", "1.09:00", Surface(51)).Expect()
        .Each("1.09:01", "1.09:11", Surface(45))
        .Expect(Kept("1.09:01", TooHot, Easing, UnderByMargin), Told("1.09:11", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Estimated_heat_over_midnight_is_one_spell() => HotDayTests.Hot()
        .Each("11:01", "1.09:00", Estimate(50, 53)).Expect(Kept("11:03", TooHot, Silent, NoGoodReading))
        .Each("1.09:01", "1.09:02", Surface(55)).Expect(Kept("1.09:01", Silent, TooHot, ReadingsBack));

    [Theory]
    [InlineData("23:55", false)] // nine minutes: easing would not have been over yet
    [InlineData("23:54", true)]
    public void A_gap_over_midnight_shorter_than_clearing_takes_ends_no_spell(string last, bool toldAgain)
    {
        var script = HotDayTests.Hot().Each("11:01", last, Surface(51)).At("1.00:04", Surface(51)).At("1.00:05", Surface(51));
        AlertScript.Change[] expected = toldAgain
            ? [Kept("1.00:04", TooHot, Silent, NoGoodReading), Told("1.00:05", Silent, TooHot, ReadingsOverLimit)]
            : [];
        script.Expect(expected);
    }

    [Theory]
    [InlineData("1.04:00", false)]
    [InlineData("1.05:00", true)]
    public void Midnight_is_that_of_the_spot(string back, bool toldAgain)
    {
        var script = HotDayTests.Hot(Chicago).Each("11:01", "17:00", Surface(58)).Expect()
            .At(back, Surface(55)).At(back + ":30", Surface(55));
        AlertScript.Change[] expected = toldAgain
            ? [Kept(back, TooHot, Silent, NoGoodReading), Told(back + ":30", Silent, TooHot, ReadingsOverLimit)]
            : [];
        script.Expect(expected);
    }

    [Fact]
    public void A_cool_next_morning_calls_off_nothing_of_the_day_before() => HotDayTests.Hot()
        .Each("1.08:00", "1.08:30", Surface(25)).Expect(Kept("1.08:00", TooHot, Clear, ReadingsBack));

    [Fact]
    public void A_memory_of_an_earlier_edition_goes_by_its_last_good_reading()
    {
        var script = HotDayTests.Hot();
        script.Memory = script.Memory with { HeatSeenAt = null };
        script.At("1.12:00", Surface(55)).At("1.12:01", Surface(55))
            .Expect(Kept("1.12:00", TooHot, Silent, NoGoodReading), Told("1.12:01", Silent, TooHot, ReadingsOverLimit));
    }

    [Fact]
    public void Heat_told_under_a_clock_a_year_ahead_is_told_again_when_the_clock_is_right()
    {
        var script = HotDayTests.Hot();
        var told = script.Memory;
        script.Memory = told with { HeatSeenAt = told.HeatSeenAt!.Value.AddDays(400), LastGoodAt = told.LastGoodAt!.Value.AddDays(400), Since = told.Since.AddDays(400) };
        script.Each("12:00", "12:01", Surface(58)).Expect(
            Kept("12:00", TooHot, Silent, NoGoodReading), Told("12:01", Silent, TooHot, ReadingsOverLimit));
    }

    [Fact]
    public void A_rise_told_under_a_clock_a_year_ahead_does_not_silence_the_next()
    {
        var script = HotDayTests.Cleared();
        script.Memory = script.Memory with { RisingToldAt = script.Memory.Since.AddDays(400) };
        script.At("10:01", Estimate(45, 46, in29Minutes: 50)).Expect(Told("10:01", Clear, Rising, ForecastReachesLimit));
    }

    [Fact]
    public void A_clock_that_is_set_moves_what_was_told_of_the_cold_too()
    {
        var (at, hour) = (Clock("10:00"), TimeSpan.FromHours(1));
        var memory = new AlertMemory { Since = at, Cold = new AlertMemory { Since = at, Hot = HotEpisode.Measured, HeatSeenAt = at, RisingToldAt = at, OverToldAt = at } };
        var (earlier, later) = (memory.Earlier(hour).Cold!, memory.ToldLater(hour).Cold!);
        Assert.Equal((at - hour, at - hour, at - hour, at - hour), (earlier.Since, earlier.HeatSeenAt, earlier.RisingToldAt, earlier.OverToldAt));
        Assert.Equal((at, at + hour, at + hour, at + hour), (later.Since, later.HeatSeenAt, later.RisingToldAt, later.OverToldAt));
    }

    [Fact]
    public void A_memory_that_stands_too_hot_of_another_day_does_not_swallow_todays_warning()
    {
        // As after a day on which the registry took nothing: the machine's last word was kept, what followed was not.
        var script = new AlertScript(new AlertRule { TooHotReadings = 1 });
        script.At("11:00", Surface(58)).Expect(Told("11:00", Silent, TooHot, ReadingsOverLimit));
        script.At("1.12:00", Surface(55)).Expect(Told("1.12:00", TooHot, TooHot, ReadingsOverLimit));
    }
}
