using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>A change of a spot in words, for cards, pushes, mail and webhooks alike; in the unit of whoever reads it.</summary>
public static class AlertTexts
{
    /// <summary>Where a spot stands, in a word or two.</summary>
    /// <param name="state">Where it stands.</param>
    /// <returns>Lower-case English, e.g. <c>too hot</c>.</returns>
    public static string Word(AlertState state) => state switch
    {
        AlertState.Silent => "silent",
        AlertState.Clear => "clear",
        AlertState.Rising => "rising",
        AlertState.TooHot => "too hot",
        AlertState.Easing => "easing",
        _ => "unknown",
    };

    /// <summary>A few words for the first line of a message, e.g. <c>North Gate plaza too hot</c>.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <param name="decision">What was decided.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone, in which a time of day is said.</param>
    /// <returns>No sentence.</returns>
    public static string Title(string spotName, AlertDecision decision, string timeZoneId = "Etc/UTC")
    {
        ArgumentNullException.ThrowIfNull(decision);
        return spotName + (decision.Side == AlertSide.Cold ? ColdTexts.Title(decision, timeZoneId) : decision.Because switch
        {
            AlertReason.ReadingsExtreme => " burns in seconds",
            AlertReason.ReadingsOverLimit when Burns(decision.SurfaceCelsius) => " burns in seconds",
            AlertReason.ReadingsOverLimit => " too hot",
            AlertReason.OverLimitAgain => " too hot again",
            AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit => " soon too hot",
            AlertReason.RiseEnded => " not about to be too hot any more",
            AlertReason.RiseCalledOff => " no longer expected to pass its limit",
            AlertReason.UnderByMargin => " easing",
            AlertReason.UnderInCloud => " below its limit in cloud",
            AlertReason.UnderLongEnough => " below its limit again",
            AlertReason.LimitRaised => " limit raised, not over yet",
            AlertReason.UnderRaisedLimit => " limit changed",
            AlertReason.ReadingsBack => " measured again",
            AlertReason.EstimateExtreme => " may burn in seconds",
            AlertReason.EstimateOverLimit when Burns(decision.UpperCelsius) => " may burn in seconds",
            AlertReason.EstimateOverLimit => " estimated too hot",
            AlertReason.DoubtfulOverLimit when Burns(decision.SurfaceCelsius) => " may burn in seconds",
            AlertReason.DoubtfulOverLimit => " may be too hot",
            AlertReason.EstimateUnderLongEnough => " estimated below its limit",
            _ => " not measured now",
        });
    }

    /// <summary>The same without the spot's name, e.g. <c>too hot</c>; of spots of which the same is said one message can speak together.</summary>
    /// <param name="decision">What was decided.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone.</param>
    /// <returns>A few words.</returns>
    public static string What(AlertDecision decision, string timeZoneId) => Title("", decision, timeZoneId).TrimStart();

    /// <summary>What the title does not say: when, the ground, the limit, and what to do.</summary>
    /// <param name="decision">What was decided.</param>
    /// <param name="unit">Who reads it wants this.</param>
    /// <returns>One to three sentences that do not name the spot.</returns>
    public static string Body(AlertDecision decision, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(decision);
        if (decision.Side == AlertSide.Cold)
            return Upper(ColdTexts.Rest(decision, unit));
        var lead = AlertDecision.IsRise(decision.Because) ? $"Expected {Lead(decision.LeadMinutes)}. " : "";
        return lead + Upper(Rest(decision, unit));
    }

    /// <summary>The whole change in one text.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <param name="decision">What was decided.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone, in which a time of day is said.</param>
    /// <param name="unit">Who reads it wants this.</param>
    /// <returns>One or two plain sentences.</returns>
    public static string Whole(string spotName, AlertDecision decision, string timeZoneId, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(decision);
        if (decision.Side == AlertSide.Cold)
            return spotName + ColdTexts.Whole(decision, timeZoneId, unit);
        var rest = Rest(decision, unit);
        return spotName + decision.Because switch
        {
            AlertReason.ReadingsExtreme => $" burns in seconds: {rest}",
            AlertReason.ReadingsOverLimit when Burns(decision.SurfaceCelsius) => $" burns in seconds: {rest}",
            AlertReason.ReadingsOverLimit => $" is too hot: {rest}",
            AlertReason.OverLimitAgain => $" is too hot again: {rest}",
            AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit => $" will be too hot {Lead(decision.LeadMinutes)}: {rest}",
            AlertReason.RiseEnded => $" is no longer about to be too hot: {rest}",
            AlertReason.RiseCalledOff => $" is no longer expected to pass its limit: {rest}",
            AlertReason.UnderByMargin => $" is easing: {rest}",
            AlertReason.UnderInCloud => $" is below its limit in cloud; hot again within minutes of sun: {rest}",
            AlertReason.UnderLongEnough => $" is below its limit again: {rest}",
            AlertReason.LimitRaised or AlertReason.UnderRaisedLimit => $": {rest}",
            AlertReason.ReadingsBack => $" is measured again: {rest}",
            AlertReason.EstimateExtreme => $" may burn in seconds: {rest}",
            AlertReason.EstimateOverLimit when Burns(decision.UpperCelsius) => $" may burn in seconds: {rest}",
            AlertReason.EstimateOverLimit => $" is estimated too hot: {rest}",
            AlertReason.DoubtfulOverLimit when Burns(decision.SurfaceCelsius) => $" may burn in seconds: {rest}",
            AlertReason.DoubtfulOverLimit => $" may be too hot: {rest}",
            AlertReason.EstimateUnderLongEnough => $" is estimated to be below its limit: {rest}",
            _ => $" is not measured now; {rest}",
        };
    }

    /// <summary>The same with the moment before it, by the spot's clock: a state lasts for hours, and undated its temperature would pass for the current one.</summary>
    /// <param name="spotName">The spot's name for people.</param>
    /// <param name="decision">What was decided.</param>
    /// <param name="timeZoneId">IANA name of the spot's zone.</param>
    /// <param name="unit">Who reads it wants this.</param>
    /// <returns>E.g. <c>14 July, 12:02: North Gate plaza is too hot: …</c></returns>
    public static string Dated(string spotName, AlertDecision decision, string timeZoneId, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(decision);
        var date = MomentTexts.Date(decision.At, timeZoneId).ToString("d MMMM", CultureInfo.InvariantCulture);
        return $"{date}, {MomentTexts.Clock(decision.At, timeZoneId)}: {Whole(spotName, decision, timeZoneId, unit)}";
    }

    internal static bool Burns(double? celsius) => celsius >= GroundWords.BurnsFromCelsius;

    private static string Rest(AlertDecision decision, TemperatureUnit unit)
    {
        string Ground(double celsius) => GroundTexts.InAlert(celsius, decision.Side, decision.LimitCelsius, unit);
        var limit = $"the limit is {Temperatures.InSentence(decision.LimitCelsius, unit)}";
        var surface = decision.SurfaceCelsius is { } celsius ? Ground(celsius) : "not measured";
        var ground = $"the ground is at {surface}";
        var upper = decision.UpperCelsius is { } most ? Ground(most) : "unknown";
        return decision.Because switch
        {
            AlertReason.RiseEnded => $"{ground}.",
            AlertReason.RiseCalledOff when decision.UpperCelsius is not null => $"it is not measured now and is at most about {upper}. Test the ground yourself.",
            AlertReason.RiseCalledOff => $"{ground}, {limit}. Test it yourself.",
            AlertReason.UnderByMargin => $"{ground}. Wait, it is not over yet.",
            AlertReason.LimitRaised => $"{Changed(decision, unit)}; {ground}. Wait, it is not over yet.",
            AlertReason.UnderRaisedLimit when decision.UpperCelsius is not null => $"{Changed(decision, unit)}; it is not measured now and is at most about {upper}. Test the ground yourself.",
            AlertReason.UnderRaisedLimit => $"{Changed(decision, unit)}; {ground}, no cooler for it. Test it yourself.",
            AlertReason.UnderInCloud => $"{ground}, {limit}. Wait: full sun may take it there {Lead(decision.LeadMinutes)}.",
            AlertReason.EstimateOverLimit or AlertReason.EstimateExtreme => $"it is not measured now and may be at {upper}, {limit}. Take it as too hot.",
            AlertReason.DoubtfulOverLimit => $"the sensor is in doubt and says {surface}, {limit}. Take it as too hot.",
            AlertReason.EstimateUnderLongEnough => $"it is not measured now and is at most about {upper}. Test the ground yourself.",
            AlertReason.NoGoodReading => "what it is at is not known. Test the ground yourself.",
            _ => $"{ground}, {limit}.",
        };
    }

    /// <summary>That a limit was changed, by whom, from what to what; begins small, without its full stop.</summary>
    internal static string Changed(AlertDecision decision, TemperatureUnit unit)
    {
        var by = decision.LimitChangedBy switch
        {
            LimitChanger.Business => " by the business",
            LimitChanger.Operator => " by the operator",
            _ => "",
        };
        var from = decision.LimitBeforeCelsius is { } before ? $" from {Temperatures.InSentence(before, unit)}" : "";
        return $"the {(decision.Side == AlertSide.Cold ? "cold " : "")}limit was changed{by}{from} to {Temperatures.InSentence(decision.LimitCelsius, unit)}";
    }

    private static string Upper(string sentence) => char.ToUpperInvariant(sentence[0]) + sentence[1..];

    private static string Lead(int minutes) => minutes switch
    {
        <= 0 => "at any moment",
        1 => "in about a minute",
        _ => string.Create(CultureInfo.InvariantCulture, $"in about {minutes} minutes"),
    };
}
