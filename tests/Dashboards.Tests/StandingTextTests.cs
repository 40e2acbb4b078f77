using PavementWatch.Core.Alerts;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests;

/// <summary>What people are told of what stands.</summary>
public sealed class StandingTextTests
{
    private static readonly DateTimeOffset Since = new(2026, 7, 14, 16, 2, 0, TimeSpan.Zero);

    [Theory]
    [InlineData(StandingWarning.Rising, 47.0, null, "A soon too hot", "Since 11:02 it is about to pass its limit. The ground is at 47 °C (117 °F), the limit is 49 °C (120 °F).")]
    [InlineData(StandingWarning.TooHot, 54.0, null, "A too hot", "Since 11:02. The ground is at 54 °C (129 °F), the limit is 49 °C (120 °F).")]
    [InlineData(StandingWarning.TooHot, 58.0, null, "A burns in seconds", "Since 11:02. The ground is at 58 °C (136 °F), the limit is 49 °C (120 °F).")]
    [InlineData(StandingWarning.Easing, 44.0, null, "A was too hot, not over yet", "Too hot since 11:02. The ground is at 44 °C (111 °F) now, the limit is 49 °C (120 °F). Wait, it is not over yet.")]
    [InlineData(StandingWarning.Estimated, null, 54.0, "A estimated too hot", "Since 11:02, not measured. It may be at 54 °C (129 °F), the limit is 49 °C (120 °F). Take it as too hot.")]
    [InlineData(StandingWarning.Estimated, null, 56.0, "A may burn in seconds", "Since 11:02, not measured. It may be at 56 °C (133 °F), the limit is 49 °C (120 °F). Take it as too hot.")]
    [InlineData(StandingWarning.SilentHot, null, null, "A was too hot, not measured now", "Too hot since 11:02, then not measured. What it is at is not known; the limit is 49 °C (120 °F). Take it as too hot.")]
    public void Each_has_its_words(StandingWarning warning, double? surface, double? upper, string title, string body) =>
        Assert.Equal((title, body), Texts(new StandingAlert(AlertSide.Heat, warning, Since, 49, surface, upper), Since.AddHours(2)));

    [Theory]
    [InlineData(StandingWarning.Rising, 0, 1.0, null, "A soon may be icy", "Since 11:02 it is about to pass its limit. The ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.TooHot, 0, -3.0, null, "A freezing", "Since 11:02. The ground is at -3 °C (27 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.TooHot, 3, 2.0, null, "A too cold", "Since 11:02. The ground is at 2 °C (36 °F), the cold limit is 3 °C (37 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.TooHot, 3, -1.0, null, "A freezing", "Since 11:02. The ground is at -1 °C (30 °F), the cold limit is 3 °C (37 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.Estimated, 3, null, -1.0, "A may be icy", "Since 11:02, not measured. It may be at -1 °C (30 °F), the cold limit is 3 °C (37 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.Estimated, 3, null, 2.0, "A may be too cold", "Since 11:02, not measured. It may be at 2 °C (36 °F), the cold limit is 3 °C (37 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.TooHot, 0, -12.0, null, "A bitterly cold", "Since 11:02. The ground is at -12 °C (10 °F), the cold limit is 0 °C (32 °F). Frost can injure pads: keep it short.")]
    [InlineData(StandingWarning.Easing, 0, 3.0, null, "A was freezing, ice may still lie", "Freezing since 11:02. The ground is at 3 °C (37 °F) now, the cold limit is 0 °C (32 °F). Ice may still lie.")]
    [InlineData(StandingWarning.Estimated, 0, null, -2.0, "A may be icy", "Since 11:02, not measured. It may be at -2 °C (28 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    [InlineData(StandingWarning.SilentHot, 0, null, null, "A was freezing, not measured now", "Freezing since 11:02, then not measured. What it is at is not known; the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.")]
    public void The_cold_has_words_of_its_own(StandingWarning warning, double limit, double? surface, double? lower, string title, string body) =>
        Assert.Equal((title, body), Texts(new StandingAlert(AlertSide.Cold, warning, Since, limit, surface, lower), Since.AddHours(2)));

    [Fact]
    public void Of_ground_that_is_known_to_have_no_ice_none_is_said() => Assert.Equal(
        ("A was too cold, not over yet", "Too cold since 11:02. The ground is at 6 °C (43 °F) now, the cold limit is 3 °C (37 °F). Wait, it is not over yet."),
        Texts(new StandingAlert(AlertSide.Cold, StandingWarning.Easing, Since, 3, 6, null) { HasNoIce = true }, Since.AddHours(2)));

    [Fact]
    public void What_was_told_on_the_day_before_says_so() =>
        Assert.StartsWith("Since 14 July 11:02. ", Texts(new StandingAlert(AlertSide.Cold, StandingWarning.TooHot, Since, 0, -3, null), Since.AddDays(1)).Body, StringComparison.Ordinal);

    private static (string Title, string Body) Texts(StandingAlert standing, DateTimeOffset now) =>
        (StandingTexts.Title("A", standing), StandingTexts.Body(standing, now, "America/Chicago", TemperatureUnit.Both));
}
