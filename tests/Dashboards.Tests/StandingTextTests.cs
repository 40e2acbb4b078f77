using PavementWatch.Core.Alerts;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Tests;

/// <summary>What people are told of what stands.</summary>
public sealed class StandingTextTests
{
    private static readonly DateTimeOffset Since = new(2026, 7, 14, 16, 2, 0, TimeSpan.Zero);

    [Theory]
    [InlineData(StandingWarning.Rising, 47.0, null, "A soon too hot", "Since 11:02 it is about to pass its limit. The ground is at 47 °C (117 °F), the limit is 49 °C (120 °F).")]
    [InlineData(StandingWarning.TooHot, 58.0, null, "A too hot", "Since 11:02. The ground is at 58 °C (136 °F), the limit is 49 °C (120 °F).")]
    [InlineData(StandingWarning.Easing, 44.0, null, "A was too hot, not over yet", "Too hot since 11:02. The ground is at 44 °C (111 °F) now, the limit is 49 °C (120 °F). Wait, it is not over yet.")]
    [InlineData(StandingWarning.Estimated, null, 54.0, "A estimated too hot", "Since 11:02, not measured. It may be at 54 °C (129 °F), the limit is 49 °C (120 °F). Take it as too hot.")]
    [InlineData(StandingWarning.SilentHot, null, null, "A was too hot, not measured now", "Too hot since 11:02, then not measured. What it is at is not known; the limit is 49 °C (120 °F). Take it as too hot.")]
    public void Each_has_its_words(StandingWarning warning, double? surface, double? upper, string title, string body) =>
        Assert.Equal((title, body), (StandingTexts.Title("A", warning), StandingTexts.Body(warning, Since, "America/Chicago", surface, upper, 49)));
}
