using static PavementWatch.Core.Alerts.AlertReason;
using static PavementWatch.Core.Alerts.AlertState;
using static PavementWatch.Core.Tests.Alerts.AlertScript;

namespace PavementWatch.Core.Tests.Alerts;

/// <summary>That ground burns in seconds is told even where too hot was told before.</summary>
public sealed class ExtremeTests
{
    [Fact]
    public void Ground_that_comes_to_burn_is_told_once_more_and_once_only() => TooHotAt10()
        .Each("10:10", "10:20", Surface(55.9)).Expect()
        .At("10:21", Surface(56)).Expect()
        .At("10:22", Surface(56)).Expect(Told("10:22", TooHot, TooHot, ReadingsExtreme))
        .Each("10:23", "10:30", Surface(54)).Each("10:31", "10:40", Surface(58)).Expect();

    [Fact]
    public void Where_too_hot_is_told_at_a_temperature_that_burns_it_is_not_told_again() => new AlertScript()
        .At("10:00", Surface(40)).Expect(Kept("10:00", Silent, Clear, ReadingsBack))
        .Each("10:01", "10:10", Surface(58)).Expect(Told("10:02", Clear, TooHot, ReadingsOverLimit));

    [Fact]
    public void A_new_spell_tells_it_anew() => TooHotAt10()
        .Each("10:02", "10:03", Surface(57)).Expect(Told("10:03", TooHot, TooHot, ReadingsExtreme))
        .Each("10:04", "10:14", Surface(40)).Expect(Kept("10:04", TooHot, Easing, UnderByMargin), Told("10:14", Easing, Clear, UnderLongEnough))
        .Each("10:15", "10:16", Surface(50)).Expect(Told("10:16", Clear, TooHot, ReadingsOverLimit))
        .Each("10:17", "10:18", Surface(57)).Expect(Told("10:18", TooHot, TooHot, ReadingsExtreme));

    [Fact]
    public void Too_hot_told_on_an_estimate_does_not_keep_measured_ground_that_burns_untold() => new AlertScript()
        .At("10:00", Estimate(48, 51)).Expect(Told("10:00", Silent, Silent, EstimateOverLimit))
        .Each("10:01", "10:03", Surface(57))
        .Expect(Kept("10:01", Silent, TooHot, ReadingsBack), Told("10:02", TooHot, TooHot, ReadingsExtreme));

    [Fact]
    public void A_silent_spot_that_may_burn_is_told_by_its_upper_end() => TooHotAt10()
        .At("10:10", Estimate(52, 55.9)).Expect(Kept("10:10", TooHot, Silent, NoGoodReading))
        .At("10:11", Estimate(52, 56)).Expect(Told("10:11", Silent, Silent, EstimateExtreme))
        .At("10:12", Estimate(52, 57)).Expect();

    private static AlertScript TooHotAt10() => new AlertScript()
        .At("09:59", Surface(40)).Each("10:00", "10:01", Surface(50))
        .Expect(Kept("09:59", Silent, Clear, ReadingsBack), Told("10:01", Clear, TooHot, ReadingsOverLimit));
}
