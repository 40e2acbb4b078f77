using PavementWatch.Core.Alerts;

namespace PavementWatch.Dashboards.Texts;

/// <summary>What stands at a spot in words, for somebody who comes to it; in °C and °F.</summary>
public static class StandingTexts
{
    /// <summary>A few words for the first line of a message, e.g. <c>North Gate plaza too hot</c>.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <param name="warning">What stands.</param>
    /// <returns>No sentence.</returns>
    public static string Title(string spotName, StandingWarning warning) => spotName + warning switch
    {
        StandingWarning.Rising => " soon too hot",
        StandingWarning.TooHot => " too hot",
        StandingWarning.Easing => " was too hot, not over yet",
        StandingWarning.Estimated => " estimated too hot",
        StandingWarning.SilentHot => " was too hot, not measured now",
        _ => " unknown",
    };

    /// <summary>What the title does not say: since when, the ground, the limit, and what to do.</summary>
    /// <param name="warning">What stands.</param>
    /// <param name="since">When it was told first, UTC.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone, in which a time of day is said.</param>
    /// <param name="surfaceCelsius">[°C] The ground, where it is measured.</param>
    /// <param name="upperCelsius">[°C] The estimate's upper end, where it is not.</param>
    /// <param name="limitCelsius">[°C] The spot's limit.</param>
    /// <returns>Plain sentences.</returns>
    public static string Body(
        StandingWarning warning, DateTimeOffset since, string timeZoneId, double? surfaceCelsius, double? upperCelsius, double limitCelsius)
    {
        var clock = MomentTexts.Clock(since, timeZoneId);
        var limit = $"the limit is {AlertTexts.Degrees(limitCelsius)}";
        var ground = surfaceCelsius is { } celsius ? $"The ground is at {AlertTexts.Degrees(celsius)}" : "The ground is not measured";
        var estimate = upperCelsius is { } upper ? $"It may be at {AlertTexts.Degrees(upper)}, {limit}." : $"What it is at is not known; {limit}.";
        return warning switch
        {
            StandingWarning.Rising => $"Since {clock} it is about to pass its limit. {ground}, {limit}.",
            StandingWarning.TooHot => $"Since {clock}. {ground}, {limit}.",
            StandingWarning.Easing => $"Too hot since {clock}. {ground} now, {limit}. Wait, it is not over yet.",
            StandingWarning.Estimated => $"Since {clock}, not measured. {estimate} Take it as too hot.",
            StandingWarning.SilentHot => $"Too hot since {clock}, then not measured. {estimate} Take it as too hot.",
            _ => $"{ground}, {limit}.",
        };
    }
}
