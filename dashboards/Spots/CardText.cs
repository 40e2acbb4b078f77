using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Spots;

/// <summary>The sentences of a spot's card. Of these only <see cref="Age"/> changes with time and is said again in <c>wwwroot/js/card.js</c>.</summary>
internal static class CardText
{
    // So long it is of interest that it was not measured before. Our choice.
    private static readonly TimeSpan BackIsNews = TimeSpan.FromHours(1);

    /// <summary>After how long skin is hurt; in the cold what to mind; for an unknown spot what to do instead.</summary>
    public static string Touch(SpotNow spot, TemperatureUnit unit) => spot.Word switch
    {
        GroundWord.Unknown => "treat it as too hot until your hand has told you otherwise",
        GroundWord.Bitter => $"frost can injure pads within minutes: keep it short{Icy(spot)}",
        GroundWord.Freezing => $"salt and ice hurt paws: rinse and dry them after{Icy(spot)}",
        GroundWord.Cold => "cold for small, old and thin-coated dogs: keep them moving",
        _ => $"{Spans.Hurt(spot.ContactTime)}{WhySoSoon(spot, unit)}",
    };

    // The word is of the reading, and the time of the hottest that may be behind it.
    private static string WhySoSoon(SpotNow spot, TemperatureUnit unit)
    {
        if (spot is not { Estimated: false, HottestCelsius: { } hottest } || !GroundWords.IsWarning(GroundWords.For(hottest, spot.LimitCelsius)) || GroundWords.IsWarning(spot.Word))
            return "";
        var differ = spot.VaryingKelvin is { } kelvin
            ? $", as readings of this minute differ by {Temperatures.InSentence(Whole(kelvin, "°C"), Whole(kelvin * Temperatures.FahrenheitPerKelvin, "°F"), unit)}"
            : "";
        return $": it may be at {GroundTexts.InSentence(hottest, spot.LimitCelsius, unit)}{differ}";
    }

    private static string Whole(double degrees, string unit) => string.Create(CultureInfo.InvariantCulture, $"±{Math.Max(1, Math.Round(degrees)):0} {unit}");

    private static string Icy(SpotNow spot) => spot.MayBeIcy ? "; may be icy" : "";

    /// <summary>The temperature, marked where it is an estimate; says so where there is none.</summary>
    public static string Degrees(SpotNow spot, TemperatureUnit unit) => spot.SurfaceCelsius switch
    {
        { } celsius when spot.Estimated => $"≈ {GroundTexts.Of(celsius, spot.LimitCelsius, unit)}",
        { } celsius => GroundTexts.Of(celsius, spot.LimitCelsius, unit),
        null => "no temperature",
    };

    /// <summary>Why its alert stands where it stands: what changed last, and when.</summary>
    public static string Because(SpotNow spot, TemperatureUnit unit) => spot switch
    {
        { WatchFails: true } => "The watch of this spot fails; its alerts may be missing. Treat it as too hot.",
        // It lasts for hours, and what the ground was at then says nothing of now.
        { Changed: { Because: AlertReason.ReadingsBack } back, Estimated: false, SurfaceCelsius: not null } when spot.Now - back.At >= BackIsNews =>
            spot.Standing.Count > 0
                ? StandingTexts.Body(spot.Standing[0], spot.Now, spot.TimeZoneId, unit)
                : $"Measured since {MomentTexts.Moment(back.At, spot.Now, spot.TimeZoneId)}.",
        { Changed: { } changed } => AlertTexts.Dated(spot.Name, changed, spot.TimeZoneId, unit),
        _ => "Nothing has been measured here yet.",
    };

    /// <summary>What stands there, of heat and of cold, for the business; nothing that stands is no word on the ground.</summary>
    public static string Alert(SpotNow spot) => spot switch
    {
        { Standing.Count: > 0 } => string.Join("; ", spot.Standing.Select(StandingTexts.What)),
        { State: AlertState.Clear } => "none",
        _ => AlertTexts.Word(spot.State),
    };

    /// <summary>Both limits, e.g. <c>49 °C (120 °F); cold 0 °C (32 °F)</c>.</summary>
    public static string Limits(SpotNow spot, TemperatureUnit unit) =>
        $"{Temperatures.InSentence(spot.LimitCelsius, unit)}; cold {Temperatures.InSentence(spot.ColdLimitCelsius, unit)}";

    /// <summary>How old the last good reading is.</summary>
    public static string Age(SpotNow spot) => spot.MeasuredAt switch
    {
        { } at when spot.Estimated || spot.SurfaceCelsius is null => $"last measured {Spans.Ago(spot.Now - at)}",
        { } at => $"measured {Spans.Ago(spot.Now - at)}",
        null => "never measured",
    };

    /// <summary>The estimate's interval; empty when it is measured. Its upper end chooses the word.</summary>
    public static string Interval(SpotNow spot, TemperatureUnit unit) => spot is { Estimated: true, LowerCelsius: { } lower, UpperCelsius: { } upper }
        ? $"nine times in ten {Temperatures.Interval(lower, upper, unit)}"
        : "";

    /// <summary>The estimate's interval and how often such ones held, and the doubt about the newest reading; empty when there is neither.</summary>
    public static string Range(SpotNow spot, TemperatureUnit unit)
    {
        var interval = Interval(spot, unit);
        if (interval.Length > 0 && spot.Record is { } record)
            interval = $"{interval}; {RecordTexts.Of(record)}";
        var doubt = DoubtTexts.Of(spot.Doubt);
        return doubt.Length == 0 ? interval
            : $"{interval}{(interval.Length > 0 ? "; " : "")}newest reading in doubt: {doubt}";
    }
}
