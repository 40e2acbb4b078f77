using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests;

/// <summary>What people are told of a change.</summary>
public sealed class AlertTextTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    public static TheoryData<AlertReason, string> Whole => new()
    {
        {
            AlertReason.ReadingsOverLimit,
            "North Gate plaza is too hot: the ground is at 52 °C (126 °F), the limit is 49 °C (120 °F)."
        },
        {
            AlertReason.EstimateOverLimit,
            "North Gate plaza is estimated too hot: it is not measured now and may be at 54 °C (129 °F), the limit is 49 °C (120 °F). Take it as too hot."
        },
        {
            AlertReason.ForecastReachesLimit,
            "North Gate plaza will be too hot in about 29 minutes: the ground is at 52 °C (126 °F), the limit is 49 °C (120 °F)."
        },
        {
            AlertReason.UnderInCloud,
            "North Gate plaza is below its limit in cloud; hot again within minutes of sun: the ground is at 52 °C (126 °F), the limit is 49 °C (120 °F). Wait: full sun may take it there in about 29 minutes."
        },
        {
            AlertReason.RiseCalledOff,
            "North Gate plaza is no longer expected to pass its limit: it is not measured now and is at most about 54 °C (129 °F). Test the ground yourself."
        },
        { AlertReason.NoGoodReading, "North Gate plaza is not measured now; what it is at is not known. Test the ground yourself." },
    };

    [Theory]
    [MemberData(nameof(Whole))]
    public void A_text_has_both_units_and_what_to_do(AlertReason because, string text) =>
        Assert.Equal(text, AlertTexts.Whole("North Gate plaza", Decision(because), "Etc/UTC", TemperatureUnit.Both));

    [Fact]
    public void Every_reason_has_a_text_of_its_own()
    {
        var reasons = Enum.GetValues<AlertReason>()
            .Where(r => r is not (AlertReason.ForecastReachesLimit or AlertReason.ReadingsFreezing or AlertReason.EstimateFreezing)).ToList();
        Assert.Equal(reasons.Count, reasons.Select(r => AlertTexts.Title("A", Decision(r))).Distinct().Count());
        Assert.Equal(reasons.Count, reasons.Select(r => AlertTexts.Whole("A", Decision(r), "Etc/UTC", TemperatureUnit.Both)).Distinct().Count());
    }

    [Theory]
    [InlineData(AlertReason.LimitRaised, LimitChanger.Business, false, "A: the limit was changed by the business from 45 °C (113 °F) to 49 °C (120 °F); the ground is at 46 °C (115 °F). Wait, it is not over yet.")]
    [InlineData(AlertReason.UnderRaisedLimit, LimitChanger.Operator, false, "A: the limit was changed by the operator from 45 °C (113 °F) to 49 °C (120 °F); the ground is at 46 °C (115 °F), no cooler for it. Test it yourself.")]
    [InlineData(AlertReason.UnderRaisedLimit, LimitChanger.Unknown, true, "A: the limit was changed from 45 °C (113 °F) to 49 °C (120 °F); it is not measured now and is at most about 46 °C (115 °F). Test the ground yourself.")]
    public void A_limit_that_was_raised_is_said_to_be_changed_and_by_whom(AlertReason because, LimitChanger by, bool estimated, string whole) =>
        Assert.Equal(whole, AlertTexts.Whole("A", Decision(because) with
        {
            SurfaceCelsius = 46,
            UpperCelsius = estimated ? 46 : null,
            LimitCelsius = 49,
            LimitBeforeCelsius = 45,
            LimitChangedBy = by,
        }, "Etc/UTC", TemperatureUnit.Both));

    [Theory]
    [InlineData(AlertReason.ReadingsOverLimit, "A burns in seconds")]
    [InlineData(AlertReason.ReadingsExtreme, "A burns in seconds")]
    [InlineData(AlertReason.EstimateOverLimit, "A may burn in seconds")]
    [InlineData(AlertReason.DoubtfulOverLimit, "A may burn in seconds")]
    public void Ground_that_burns_is_said_so_whatever_told_it(AlertReason because, string title) =>
        Assert.Equal(title, AlertTexts.Title("A", Decision(because) with { SurfaceCelsius = 56, UpperCelsius = 56 }));

    [Theory]
    [InlineData(AlertReason.ForecastReachesLimit, "A may be icy from 06:40", "A may be icy from 06:40: the ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.ReadingsOverLimit, "A freezing", "A is freezing: the ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.EstimateOverLimit, "A may be icy", "A may be icy: it is not measured now and may be at -1 °C (30 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.ReadingsExtreme, "A bitterly cold", "A is bitterly cold: the ground is at 1 °C (34 °F). Frost can injure pads: keep it short.")]
    [InlineData(AlertReason.UnderLongEnough, "A no longer freezing", "A is no longer freezing: the ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Ice may still lie.")]
    public void The_cold_has_texts_of_its_own_in_the_spots_time(AlertReason because, string title, string whole)
    {
        Assert.Equal(title, AlertTexts.Title("A", Cold(because), "America/Chicago"));
        Assert.Equal(whole, AlertTexts.Whole("A", Cold(because), "America/Chicago", TemperatureUnit.Both));
    }

    [Theory]
    [InlineData(AlertReason.ReadingsOverLimit, 3.0, null, "A too cold", "A is too cold: the ground is at 3 °C (37 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.ReadingsOverLimit, -1.0, null, "A freezing", "A is freezing: the ground is at -1 °C (30 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.ReadingsOverLimit, 0.4, null, "A too cold", "A is too cold: the ground is at 1 °C (33 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.ReadingsFreezing, 0.0, null, "A freezing", "A is freezing: the ground is at 0 °C (32 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.EstimateOverLimit, 6.0, 3.0, "A may be too cold", "A may be too cold: it is not measured now and may be at 3 °C (37 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.EstimateOverLimit, 2.0, -1.0, "A may be icy", "A may be icy: it is not measured now and may be at -1 °C (30 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.EstimateFreezing, 2.0, -1.0, "A may be icy", "A may be icy: it is not measured now and may be at -1 °C (30 °F), the cold limit is 4 °C (39 °F). Mind ice; rinse salt off paws.")]
    [InlineData(AlertReason.UnderLongEnough, 7.0, null, "A no longer too cold", "A is no longer too cold: the ground is at 7 °C (45 °F), the cold limit is 4 °C (39 °F). Ice may still lie.")]
    public void By_a_limit_over_freezing_ground_is_too_cold_and_freezing_only_where_it_freezes(
        AlertReason because, double surface, double? lower, string title, string whole)
    {
        var decision = Cold(because) with { SurfaceCelsius = surface, UpperCelsius = lower, LimitCelsius = 4 };
        Assert.Equal((title, whole), (AlertTexts.Title("A", decision), AlertTexts.Whole("A", decision, "Etc/UTC", TemperatureUnit.Both)));
    }

    [Theory]
    [InlineData(AlertReason.LimitRaised, LimitChanger.Business, null, "A cold limit lowered, not over yet", "A: the cold limit was changed by the business from 5 °C (41 °F) to 0 °C (32 °F); the ground is at 3 °C (37 °F). Wait, it is not over yet.")]
    [InlineData(AlertReason.UnderRaisedLimit, LimitChanger.Operator, null, "A cold limit changed", "A: the cold limit was changed by the operator from 5 °C (41 °F) to 0 °C (32 °F); the ground is at 3 °C (37 °F), no warmer for it. Ice may still lie.")]
    [InlineData(AlertReason.UnderRaisedLimit, LimitChanger.Unknown, 2.0, "A cold limit changed", "A: the cold limit was changed from 5 °C (41 °F) to 0 °C (32 °F); it is not measured now and is at least about 2 °C (36 °F). Ice may still lie.")]
    public void A_cold_limit_that_was_lowered_is_said_to_be_changed_and_by_whom(AlertReason because, LimitChanger by, double? lower, string title, string whole)
    {
        var decision = Cold(because) with { SurfaceCelsius = 3, UpperCelsius = lower, LimitBeforeCelsius = 5, LimitChangedBy = by };
        Assert.Equal((title, whole), (AlertTexts.Title("A", decision), AlertTexts.Whole("A", decision, "Etc/UTC", TemperatureUnit.Both)));
    }

    [Theory]
    [InlineData(AlertReason.UnderLongEnough, "A is no longer freezing: the ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F).")]
    [InlineData(AlertReason.UnderByMargin, "A is warming: the ground is at 1 °C (34 °F). Wait, it is not over yet.")]
    [InlineData(AlertReason.EstimateUnderLongEnough, "A is estimated to be no longer freezing: it is not measured now and is at least about -1 °C (30 °F).")]
    public void Of_ground_that_is_known_to_have_no_ice_none_is_said(AlertReason because, string whole) =>
        Assert.Equal(whole, AlertTexts.Whole("A", Cold(because) with { HasNoIce = true }, "Etc/UTC", TemperatureUnit.Both));

    [Fact]
    public void Every_reason_of_the_cold_has_words_and_none_speaks_of_heat()
    {
        foreach (var reason in Enum.GetValues<AlertReason>())
        {
            foreach (var text in (string[])[AlertTexts.Title("A", Cold(reason)), AlertTexts.Body(Cold(reason), TemperatureUnit.Both), AlertTexts.Whole("A", Cold(reason), "Etc/UTC", TemperatureUnit.Both)])
            {
                Assert.DoesNotContain("hot", text, StringComparison.Ordinal);
                Assert.DoesNotContain("burn", text, StringComparison.Ordinal);
            }
        }
    }

    private static AlertDecision Cold(AlertReason because) => new(default, default, because, new(2026, 1, 14, 12, 11, 0, TimeSpan.Zero), true, 1)
    {
        Side = AlertSide.Cold,
        LimitCelsius = 0,
        UpperCelsius = -1,
        ReachesAt = new(2026, 1, 14, 12, 40, 0, TimeSpan.Zero),
    };

    [Fact]
    public void A_push_names_its_spot_once()
    {
        foreach (var reason in Enum.GetValues<AlertReason>())
        {
            var (title, body) = (AlertTexts.Title("North Gate plaza", Decision(reason)), AlertTexts.Body(Decision(reason), TemperatureUnit.Both));
            Assert.DoesNotContain("North Gate plaza", body, StringComparison.Ordinal);
            Assert.StartsWith("North Gate plaza ", title, StringComparison.Ordinal);
            Assert.True(char.IsUpper(body[0]) && body[^1] == '.', body);
        }
    }

    [Theory]
    [InlineData(-1, "at any moment")]
    [InlineData(0.5, "in about a minute")]
    [InlineData(1.5, "in about 2 minutes")]
    public void A_lead_is_told_in_whole_minutes_rounded_up(double minutes, string words) => Assert.Contains(
        words,
        AlertTexts.Body(Decision(AlertReason.TrendReachesLimit) with { ReachesAt = Noon.AddMinutes(minutes) }, TemperatureUnit.Both),
        StringComparison.Ordinal);

    private static AlertDecision Decision(AlertReason because) => new(default, default, because, Noon, true, 52)
    {
        LimitCelsius = 49,
        UpperCelsius = 54,
        ReachesAt = Noon.AddMinutes(29),
    };
}
