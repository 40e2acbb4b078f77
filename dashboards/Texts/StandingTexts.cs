using PavementWatch.Core.Alerts;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>What stands at a spot in words, for somebody who comes to it; in the unit of whoever that is.</summary>
public static class StandingTexts
{
    /// <summary>A few words for the first line of a message, e.g. <c>North Gate plaza too hot</c>.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <param name="standing">What stands.</param>
    /// <returns>No sentence.</returns>
    public static string Title(string spotName, StandingAlert standing)
    {
        ArgumentNullException.ThrowIfNull(standing);
        return spotName + (standing.Side == AlertSide.Cold ? ColdTexts.Standing(standing) : standing.Warning switch
        {
            StandingWarning.Rising => " soon too hot",
            StandingWarning.TooHot when AlertTexts.Burns(standing.SurfaceCelsius) => " burns in seconds",
            StandingWarning.TooHot => " too hot",
            StandingWarning.Easing => " was too hot, not over yet",
            StandingWarning.Estimated when AlertTexts.Burns(standing.UpperCelsius) => " may burn in seconds",
            StandingWarning.Estimated => " estimated too hot",
            StandingWarning.SilentHot => " was too hot, not measured now",
            _ => " unknown",
        });
    }

    /// <summary>The same without the spot's name; see <see cref="AlertTexts.What"/>.</summary>
    /// <param name="standing">What stands.</param>
    /// <returns>A few words.</returns>
    public static string What(StandingAlert standing) => Title("", standing).TrimStart();

    /// <summary>What the title does not say: since when, the ground, the limit, and what to do.</summary>
    /// <param name="standing">What stands.</param>
    /// <param name="now">Now, UTC.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone, in which a time of day is said.</param>
    /// <param name="unit">Who reads it wants this.</param>
    /// <returns>Plain sentences.</returns>
    public static string Body(StandingAlert standing, DateTimeOffset now, string timeZoneId, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(standing);
        string Ground(double celsius) => GroundTexts.InAlert(celsius, standing.Side, standing.LimitCelsius, unit);
        var since = MomentTexts.Moment(standing.Since, now, timeZoneId);
        var isCold = standing.Side == AlertSide.Cold;
        var limit = $"the {(isCold ? "cold " : "")}limit is {Temperatures.InSentence(standing.LimitCelsius, unit)}";
        var ground = standing.SurfaceCelsius is { } celsius ? $"The ground is at {Ground(celsius)}" : "The ground is not measured";
        var estimate = standing.UpperCelsius is { } upper ? $"It may be at {Ground(upper)}, {limit}." : $"What it is at is not known; {limit}.";
        var (hot, mind) = isCold ? (ColdTexts.Was(standing), $" {ColdTexts.Mind(standing)}") : ("Too hot", "");
        return standing.Warning switch
        {
            StandingWarning.Rising => $"Since {since} it is about to pass its limit. {ground}, {limit}.{mind}",
            StandingWarning.TooHot => $"Since {since}. {ground}, {limit}.{mind}",
            StandingWarning.Easing => $"{hot} since {since}. {ground} now, {limit}. {(isCold && !standing.HasNoIce ? "Ice may still lie." : "Wait, it is not over yet.")}",
            StandingWarning.Estimated => $"Since {since}, not measured. {estimate}{(isCold ? mind : " Take it as too hot.")}",
            StandingWarning.SilentHot => $"{hot} since {since}, then not measured. {estimate}{(isCold ? mind : " Take it as too hot.")}",
            _ => $"{ground}, {limit}.",
        };
    }
}
