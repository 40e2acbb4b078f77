using System.Text.Json;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>A limit that is raised while it is hot makes no ground cooler, and nobody is told that it did.</summary>
public sealed class LimitRaisedTests
{
    private static readonly AlertRule Low = new() { LimitCelsius = 45 };
    private static readonly AlertRule High = new() { LimitCelsius = 51, LimitChangedBy = LimitChanger.Business };

    [Fact]
    public void What_is_under_the_raised_limit_is_said_to_be_so_and_not_below_its_limit_again()
    {
        var script = Hot().Under(High).Each("12:10", "12:20", Surface(48))
            .Expect(Kept("12:10", TooHot, Easing, LimitRaised), Told("12:20", Easing, Clear, UnderRaisedLimit));
        Assert.Equal((45.0, LimitChanger.Business, 51.0, true), (script.Last!.LimitBeforeCelsius, script.Last.LimitChangedBy, script.Last.LimitCelsius, script.Last.IsOver));
        Assert.Null(script.Memory.LimitBeforeCelsius);
    }

    [Fact]
    public void Ground_that_cools_under_the_old_limit_too_is_below_its_limit_again() =>
        Hot().Under(High).Each("12:10", "12:15", Surface(48)).Each("12:16", "12:20", Surface(43))
            .Expect(Kept("12:10", TooHot, Easing, LimitRaised), Told("12:20", Easing, Clear, UnderLongEnough));

    [Fact]
    public void Ground_that_passed_the_raised_limit_and_cools_is_below_its_limit_again() =>
        Hot().Under(High).Each("12:10", "12:12", Surface(52)).Each("12:13", "12:23", Surface(48))
            .Expect(Kept("12:13", TooHot, Easing, UnderByMargin), Told("12:23", Easing, Clear, UnderLongEnough));

    [Fact]
    public void A_limit_lowered_again_is_as_if_it_had_not_been_raised() =>
        Hot().Under(High).Each("12:10", "12:12", Surface(48)).Under(Low).Each("12:13", "12:14", Surface(48)).Each("12:15", "12:25", Surface(43))
            .Expect(
                Kept("12:10", TooHot, Easing, LimitRaised), Kept("12:13", Easing, TooHot, OverLimitAgain),
                Kept("12:15", TooHot, Easing, UnderByMargin), Told("12:25", Easing, Clear, UnderLongEnough));

    [Fact]
    public void A_silent_spot_that_is_called_off_by_its_estimate_says_so_too() =>
        new AlertScript(Low).At("11:00", Surface(40)).Expect(Kept("11:00", Silent, Clear, ReadingsBack))
            .At("11:10", Estimate(44, 47)).Expect(Told("11:10", Clear, Silent, EstimateOverLimit))
            .Under(High).Each("11:11", "11:21", Estimate(44, 47)).Expect(Told("11:21", Silent, Silent, UnderRaisedLimit));

    [Fact]
    public void A_limit_raised_while_nothing_stands_is_no_news() =>
        new AlertScript(Low).At("11:00", Surface(40)).Under(High).Each("11:01", "12:00", Surface(40)).Expect(Kept("11:00", Silent, Clear, ReadingsBack));

    [Fact]
    public void A_restart_between_forgets_nothing()
    {
        var script = Hot().Under(High).At("12:10", Surface(48));
        script.Memory = JsonSerializer.Deserialize<AlertMemory>(JsonSerializer.Serialize(script.Memory))!;
        script.Each("12:11", "12:20", Surface(48)).Expect(Kept("12:10", TooHot, Easing, LimitRaised), Told("12:20", Easing, Clear, UnderRaisedLimit));
    }

    private static AlertScript Hot() => new AlertScript(Low).Each("12:00", "12:09", Surface(48)).Expect(Told("12:01", Silent, TooHot, ReadingsOverLimit));
}
