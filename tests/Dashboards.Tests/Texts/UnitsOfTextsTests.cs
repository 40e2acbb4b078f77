using PavementWatch.Core.Alerts;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests.Texts;

/// <summary>Every text that names a temperature, in each of the three choices.</summary>
public class UnitsOfTextsTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    private static readonly AlertDecision TooHot = new(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, Noon, true, 52) { LimitCelsius = 49 };

    private static readonly AlertDecision Freezing = new(AlertState.Clear, AlertState.TooHot, AlertReason.EstimateOverLimit, Noon, true, null)
    {
        Side = AlertSide.Cold,
        LimitCelsius = 0,
        UpperCelsius = -2,
    };

    [Theory]
    [InlineData(TemperatureUnit.Both, "The ground is at 52 °C (126 °F), the limit is 49 °C (120 °F).", "It is not measured now and may be at -2 °C (28 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(TemperatureUnit.Celsius, "The ground is at 52 °C, the limit is 49 °C.", "It is not measured now and may be at -2 °C, the cold limit is 0 °C. Mind ice; rinse salt off paws.")]
    [InlineData(TemperatureUnit.Fahrenheit, "The ground is at 126 °F, the limit is 120 °F.", "It is not measured now and may be at 28 °F, the cold limit is 32 °F. Mind ice; rinse salt off paws.")]
    public void A_push_is_in_the_unit_of_whose_phone_it_is(TemperatureUnit unit, string hot, string cold) =>
        Assert.Equal((hot, cold), (AlertTexts.Body(TooHot, unit), AlertTexts.Body(Freezing, unit)));

    [Theory]
    [InlineData(TemperatureUnit.Both, "Since 12:00. The ground is at 54 °C (129 °F), the limit is 49 °C (120 °F).")]
    [InlineData(TemperatureUnit.Celsius, "Since 12:00. The ground is at 54 °C, the limit is 49 °C.")]
    [InlineData(TemperatureUnit.Fahrenheit, "Since 12:00. The ground is at 129 °F, the limit is 120 °F.")]
    public void So_is_what_stands(TemperatureUnit unit, string body) => Assert.Equal(
        body, StandingTexts.Body(new StandingAlert(AlertSide.Heat, StandingWarning.TooHot, Noon, 49, 54, null), Noon.AddHours(1), "America/Chicago", unit));

    [Theory]
    [InlineData(TemperatureUnit.Both, "≈ 46.8 °C · 116 °F", "nine times in ten 43 to 51 °C (109 to 123 °F)", "14 July, 12:00: Mill Footbridge is too hot: the ground is at 52 °C (126 °F), the limit is 49 °C (120 °F).")]
    [InlineData(TemperatureUnit.Celsius, "≈ 46.8 °C", "nine times in ten 43 to 51 °C", "14 July, 12:00: Mill Footbridge is too hot: the ground is at 52 °C, the limit is 49 °C.")]
    [InlineData(TemperatureUnit.Fahrenheit, "≈ 116 °F", "nine times in ten 109 to 123 °F", "14 July, 12:00: Mill Footbridge is too hot: the ground is at 126 °F, the limit is 120 °F.")]
    public void So_is_a_card(TemperatureUnit unit, string degrees, string range, string because)
    {
        var json = SpotNowJson.Of(Ferngate.Spots(Ferngate.Now).Single(s => s.Id.Value == "mill-footbridge") with { Changed = TooHot }, unit);
        Assert.Equal((degrees, range, because), (json.Texts.Degrees, json.Texts.Range, json.Because));
    }

    [Theory]
    [InlineData(TemperatureUnit.Both, "Hottest measured: 52.4 °C (126 °F) at 14:00.", "Air up to 31 °C (88 °F) at 14:00.", "Hottest estimated: 58 °C (136 °F) at 16:00, nine times in ten 53 to 64 °C (128 to 147 °F).")]
    [InlineData(TemperatureUnit.Celsius, "Hottest measured: 52.4 °C at 14:00.", "Air up to 31 °C at 14:00.", "Hottest estimated: 58 °C at 16:00, nine times in ten 53 to 64 °C.")]
    [InlineData(TemperatureUnit.Fahrenheit, "Hottest measured: 126 °F at 14:00.", "Air up to 88 °F at 14:00.", "Hottest estimated: 136 °F at 16:00, nine times in ten 128 to 147 °F.")]
    public void So_are_a_days_sentences(TemperatureUnit unit, string measured, string air, string estimated)
    {
        var spot = Ferngate.Place(Ferngate.Spots(Ferngate.Now)[1]);
        var from = new DateTimeOffset(2026, 7, 14, 5, 0, 0, TimeSpan.Zero);
        var day = new SpotDay(spot, new DateOnly(2026, 7, 14), from, from.AddDays(1),
            [new(from.AddHours(14), 52.4, 31, null, null, null), new(from.AddHours(16), null, null, 58, 53.6, 63.4)], []);
        var sentences = DaySummary.Sentences(day, from.AddHours(20), unit);
        Assert.Contains(measured, sentences);
        Assert.Contains(air, sentences);
        Assert.Contains(estimated, sentences);
    }
}
