using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;

namespace PavementWatch.Dashboards.Texts;

/// <summary>A change of a spot in the cold in words; see <see cref="AlertTexts"/>.</summary>
internal static class ColdTexts
{
    /// <summary>A few words behind the spot's name, e.g. <c> may be icy from 06:40</c>.</summary>
    public static string Title(AlertDecision decision, string timeZoneId) => decision.Because switch
    {
        AlertReason.ReadingsExtreme => " bitterly cold",
        AlertReason.ReadingsOverLimit when IsBitter(decision.SurfaceCelsius) => " bitterly cold",
        AlertReason.ReadingsOverLimit => $" {Freezing(decision)}",
        AlertReason.OverLimitAgain => $" {Freezing(decision)} again",
        AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit => $" {MayBeIcy(decision)} {When(decision, timeZoneId)}",
        AlertReason.RiseEnded => $" not about to be {Freezing(decision)} any more",
        AlertReason.UnderByMargin => " warming",
        AlertReason.UnderLongEnough => $" no longer {Freezing(decision)}",
        AlertReason.ReadingsBack => " measured again",
        AlertReason.EstimateExtreme => " may be bitterly cold",
        AlertReason.EstimateOverLimit or AlertReason.DoubtfulOverLimit => $" {MayBeIcy(decision)}",
        AlertReason.EstimateUnderLongEnough => $" estimated no longer {Freezing(decision)}",
        _ => " not measured now",
    };

    /// <summary>The whole change behind the spot's name.</summary>
    public static string Whole(AlertDecision decision, string timeZoneId)
    {
        var rest = Rest(decision);
        return decision.Because switch
        {
            AlertReason.ReadingsExtreme => $" is bitterly cold: {rest}",
            AlertReason.ReadingsOverLimit when IsBitter(decision.SurfaceCelsius) => $" is bitterly cold: {rest}",
            AlertReason.ReadingsOverLimit => $" is {Freezing(decision)}: {rest}",
            AlertReason.OverLimitAgain => $" is {Freezing(decision)} again: {rest}",
            AlertReason.RiseEnded => $" is no longer about to be {Freezing(decision)}: {rest}",
            AlertReason.UnderByMargin => $" is warming: {rest}",
            AlertReason.UnderLongEnough => $" is no longer {Freezing(decision)}: {rest}",
            AlertReason.ReadingsBack => $" is measured again: {rest}",
            AlertReason.EstimateUnderLongEnough => $" is estimated to be no longer {Freezing(decision)}: {rest}",
            AlertReason.NoGoodReading => $" is not measured now; {rest}",
            _ => $"{Title(decision, timeZoneId)}: {rest}",
        };
    }

    /// <summary>The ground, the limit and what to mind, without the spot's name; begins small.</summary>
    public static string Rest(AlertDecision decision)
    {
        var limit = $"the cold limit is {AlertTexts.Degrees(decision.LimitCelsius)}";
        var surface = decision.SurfaceCelsius is { } celsius ? AlertTexts.Degrees(celsius) : "not measured";
        var ground = $"the ground is at {surface}";
        var lower = decision.UpperCelsius is { } least ? AlertTexts.Degrees(least) : "unknown";
        var mind = "Mind ice; rinse salt off paws.";
        return decision.Because switch
        {
            AlertReason.RiseEnded => $"{ground}.",
            AlertReason.UnderByMargin => $"{ground}. Ice may still lie.",
            AlertReason.UnderLongEnough or AlertReason.ReadingsBack => $"{ground}, {limit}. Ice may still lie in the shade.",
            AlertReason.ReadingsExtreme => $"{ground}. Frost can injure pads: keep it short.",
            AlertReason.EstimateExtreme => $"it is not measured now and may be at {lower}. Frost can injure pads: keep it short.",
            AlertReason.EstimateOverLimit => $"it is not measured now and may be at {lower}, {limit}. {mind}",
            AlertReason.DoubtfulOverLimit => $"the sensor is in doubt and says {surface}, {limit}. {mind}",
            AlertReason.EstimateUnderLongEnough => $"it is not measured now and is at least about {lower}. Ice may still lie in the shade.",
            AlertReason.NoGoodReading => "what it is at is not known. Mind ice.",
            _ => $"{ground}, {limit}. {mind}",
        };
    }

    // A limit over freezing is of the cold alone.
    private static string Freezing(AlertDecision decision) => IsOfIce(decision) ? "freezing" : "too cold";

    private static string MayBeIcy(AlertDecision decision) => IsOfIce(decision) ? "may be icy" : "may be too cold";

    private static bool IsOfIce(AlertDecision decision) => decision.LimitCelsius <= GroundWords.FreezingUpToCelsius;

    private static bool IsBitter(double? celsius) => celsius < GroundWords.BitterBelowCelsius;

    private static string When(AlertDecision decision, string timeZoneId) =>
        decision.LeadMinutes > 0 && decision.ReachesAt is { } at ? $"from {MomentTexts.Clock(at, timeZoneId)}" : "at any moment";
}
