using PavementWatch.Core.Alerts;
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
            "North Gate plaza is too hot: the ground is at 58 °C (136 °F), the limit is 49 °C (120 °F)."
        },
        {
            AlertReason.EstimateOverLimit,
            "North Gate plaza is estimated too hot: it is not measured now and may be at 60 °C (140 °F), the limit is 49 °C (120 °F). Take it as too hot."
        },
        {
            AlertReason.ForecastReachesLimit,
            "North Gate plaza will be too hot in about 29 minutes: the ground is at 58 °C (136 °F), the limit is 49 °C (120 °F)."
        },
        { AlertReason.NoGoodReading, "North Gate plaza is not measured now; what it is at is not known. Test the ground yourself." },
    };

    [Theory]
    [MemberData(nameof(Whole))]
    public void A_text_has_both_units_and_what_to_do(AlertReason because, string text) =>
        Assert.Equal(text, AlertTexts.Whole("North Gate plaza", Decision(because)));

    [Fact]
    public void Every_reason_has_a_text_of_its_own()
    {
        var reasons = Enum.GetValues<AlertReason>().Where(r => r is not AlertReason.ForecastReachesLimit).ToList();
        Assert.Equal(reasons.Count, reasons.Select(r => AlertTexts.Title("A", Decision(r))).Distinct().Count());
        Assert.Equal(reasons.Count, reasons.Select(r => AlertTexts.Whole("A", Decision(r))).Distinct().Count());
    }

    [Fact]
    public void A_push_names_its_spot_once()
    {
        foreach (var reason in Enum.GetValues<AlertReason>())
        {
            var (title, body) = (AlertTexts.Title("North Gate plaza", Decision(reason)), AlertTexts.Body(Decision(reason)));
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
        AlertTexts.Body(Decision(AlertReason.TrendReachesLimit) with { ReachesAt = Noon.AddMinutes(minutes) }),
        StringComparison.Ordinal);

    private static AlertDecision Decision(AlertReason because) => new(default, default, because, Noon, true, 58)
    {
        LimitCelsius = 49,
        UpperCelsius = 60,
        ReachesAt = Noon.AddMinutes(29),
    };
}
