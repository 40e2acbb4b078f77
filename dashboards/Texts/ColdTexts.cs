using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>A change of a spot in the cold in words; see <see cref="AlertTexts"/>.</summary>
internal static class ColdTexts
{
    private const string Ice = "Mind ice; rinse salt off paws.";
    private const string Frost = "Frost can injure pads: keep it short.";

    /// <summary>A few words behind the spot's name, e.g. <c> may be icy from 06:40</c>.</summary>
    public static string Title(AlertDecision decision, string timeZoneId) => decision.Because switch
    {
        AlertReason.ReadingsExtreme => " bitterly cold",
        AlertReason.ReadingsOverLimit when IsBitter(decision.SurfaceCelsius) => " bitterly cold",
        AlertReason.ReadingsFreezing => " freezing",
        AlertReason.ReadingsOverLimit => $" {Freezing(decision)}",
        AlertReason.OverLimitAgain => $" {Freezing(decision)} again",
        AlertReason.TrendReachesLimit or AlertReason.ForecastReachesLimit => $" {MayBeIcy(decision)} {When(decision, timeZoneId)}",
        AlertReason.RiseEnded => $" not about to be {Freezing(decision.LimitCelsius)} any more",
        AlertReason.RiseCalledOff => $" no longer expected to be {Freezing(decision.LimitCelsius)}",
        AlertReason.UnderByMargin => " warming",
        AlertReason.LimitRaised => " cold limit lowered, not over yet",
        AlertReason.UnderRaisedLimit => " cold limit changed",
        AlertReason.UnderLongEnough => $" no longer {Freezing(decision.LimitCelsius)}",
        AlertReason.ReadingsBack => " measured again",
        AlertReason.EstimateExtreme => " may be bitterly cold",
        AlertReason.EstimateFreezing => " may be icy",
        AlertReason.EstimateOverLimit or AlertReason.DoubtfulOverLimit => $" {MayBeIcy(decision)}",
        AlertReason.EstimateUnderLongEnough => $" estimated no longer {Freezing(decision.LimitCelsius)}",
        _ => " not measured now",
    };

    /// <summary>The whole change behind the spot's name.</summary>
    public static string Whole(AlertDecision decision, string timeZoneId, TemperatureUnit unit)
    {
        var rest = Rest(decision, unit);
        return decision.Because switch
        {
            AlertReason.ReadingsExtreme => $" is bitterly cold: {rest}",
            AlertReason.ReadingsOverLimit when IsBitter(decision.SurfaceCelsius) => $" is bitterly cold: {rest}",
            AlertReason.ReadingsFreezing => $" is freezing: {rest}",
            AlertReason.ReadingsOverLimit => $" is {Freezing(decision)}: {rest}",
            AlertReason.OverLimitAgain => $" is {Freezing(decision)} again: {rest}",
            AlertReason.LimitRaised or AlertReason.UnderRaisedLimit => $": {rest}",
            AlertReason.RiseEnded => $" is no longer about to be {Freezing(decision.LimitCelsius)}: {rest}",
            AlertReason.RiseCalledOff => $" is no longer expected to be {Freezing(decision.LimitCelsius)}: {rest}",
            AlertReason.UnderByMargin => $" is warming: {rest}",
            AlertReason.UnderLongEnough => $" is no longer {Freezing(decision.LimitCelsius)}: {rest}",
            AlertReason.ReadingsBack => $" is measured again: {rest}",
            AlertReason.EstimateUnderLongEnough => $" is estimated to be no longer {Freezing(decision.LimitCelsius)}: {rest}",
            AlertReason.NoGoodReading => $" is not measured now; {rest}",
            _ => $"{Title(decision, timeZoneId)}: {rest}",
        };
    }

    /// <summary>What stands in a few words behind the spot's name, e.g. <c> freezing</c>; see <see cref="StandingTexts"/>.</summary>
    public static string Standing(StandingAlert standing) => standing.Warning switch
    {
        StandingWarning.Rising => IsOfIce(standing.LimitCelsius) ? " soon may be icy" : " soon too cold",
        StandingWarning.TooHot when IsBitter(standing.SurfaceCelsius) => " bitterly cold",
        StandingWarning.TooHot => $" {Freezing(standing.LimitCelsius, standing.SurfaceCelsius)}",
        StandingWarning.Easing => $" was {Freezing(standing.LimitCelsius)}, {(standing.HasNoIce ? "not over yet" : "ice may still lie")}",
        StandingWarning.Estimated when IsBitter(standing.UpperCelsius) => " may be bitterly cold",
        StandingWarning.Estimated => IsOfIce(standing.LimitCelsius) || Freezes(standing.UpperCelsius) ? " may be icy" : " may be too cold",
        StandingWarning.SilentHot => $" was {Freezing(standing.LimitCelsius)}, not measured now",
        _ => " unknown",
    };

    /// <summary>What it was, at the beginning of a sentence.</summary>
    public static string Was(StandingAlert standing) => IsOfIce(standing.LimitCelsius) ? "Freezing" : "Too cold";

    /// <summary>What to mind.</summary>
    public static string Mind(StandingAlert standing) => IsBitter(standing.SurfaceCelsius ?? standing.UpperCelsius) ? Frost : Ice;

    /// <summary>The ground, the limit and what to mind, without the spot's name; begins small.</summary>
    public static string Rest(AlertDecision decision, TemperatureUnit unit)
    {
        string Ground(double celsius) => GroundTexts.InAlert(celsius, decision.Side, decision.LimitCelsius, unit);
        var limit = $"the cold limit is {Temperatures.InSentence(decision.LimitCelsius, unit)}";
        var surface = decision.SurfaceCelsius is { } celsius ? Ground(celsius) : "not measured";
        var ground = $"the ground is at {surface}";
        var lower = decision.UpperCelsius is { } least ? Ground(least) : "unknown";
        // Over only in name: what may be icy stays so until it has thawed for hours.
        var ice = decision.HasNoIce ? "" : " Ice may still lie.";
        return decision.Because switch
        {
            AlertReason.RiseEnded => $"{ground}.",
            AlertReason.UnderByMargin => $"{ground}.{(decision.HasNoIce ? " Wait, it is not over yet." : ice)}",
            AlertReason.RiseCalledOff when decision.UpperCelsius is not null => $"it is not measured now and is at least about {lower}.{ice}",
            AlertReason.UnderLongEnough or AlertReason.ReadingsBack or AlertReason.RiseCalledOff => $"{ground}, {limit}.{ice}",
            AlertReason.LimitRaised => $"{AlertTexts.Changed(decision, unit)}; {ground}. Wait, it is not over yet.",
            AlertReason.UnderRaisedLimit when decision.UpperCelsius is not null => $"{AlertTexts.Changed(decision, unit)}; it is not measured now and is at least about {lower}.{ice}",
            AlertReason.UnderRaisedLimit => $"{AlertTexts.Changed(decision, unit)}; {ground}, no warmer for it.{ice}",
            AlertReason.ReadingsExtreme => $"{ground}. {Frost}",
            AlertReason.EstimateExtreme => $"it is not measured now and may be at {lower}. {Frost}",
            AlertReason.EstimateOverLimit or AlertReason.EstimateFreezing => $"it is not measured now and may be at {lower}, {limit}. {Ice}",
            AlertReason.DoubtfulOverLimit => $"the sensor is in doubt and says {surface}, {limit}. {Ice}",
            AlertReason.EstimateUnderLongEnough => $"it is not measured now and is at least about {lower}.{ice}",
            AlertReason.NoGoodReading => "what it is at is not known. Mind ice.",
            _ => $"{ground}, {limit}. {Ice}",
        };
    }

    // A limit over freezing is of the cold alone, and ground that is under it may freeze all the same.
    private static string Freezing(double limitCelsius, double? celsius = null) => IsOfIce(limitCelsius) || Freezes(celsius) ? "freezing" : "too cold";

    private static string Freezing(AlertDecision decision) => Freezing(decision.LimitCelsius, decision.SurfaceCelsius);

    private static string MayBeIcy(AlertDecision decision) =>
        IsOfIce(decision.LimitCelsius) || Freezes(decision.UpperCelsius ?? decision.SurfaceCelsius) ? "may be icy" : "may be too cold";

    private static bool Freezes(double? celsius) => celsius <= GroundWords.FreezingUpToCelsius;

    private static bool IsOfIce(double limitCelsius) => limitCelsius <= GroundWords.FreezingUpToCelsius;

    private static bool IsBitter(double? celsius) => celsius < GroundWords.BitterBelowCelsius;

    private static string When(AlertDecision decision, string timeZoneId) =>
        decision.LeadMinutes > 0 && decision.ReachesAt is { } at ? $"from {MomentTexts.Clock(at, timeZoneId)}" : "at any moment";
}
