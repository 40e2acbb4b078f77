using PavementWatch.Core.Contact;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Spots;

/// <summary>The sentences of a spot's card. Of these only <see cref="Age"/> changes with time and is said again in <c>wwwroot/js/card.js</c>.</summary>
internal static class CardText
{
    /// <summary>After how long skin is hurt; in the cold what to mind; for an unknown spot what to do instead.</summary>
    public static string Touch(SpotNow spot) => spot.Word switch
    {
        GroundWord.Unknown => "treat it as too hot until your hand has told you otherwise",
        GroundWord.Bitter => $"frost can injure pads within minutes: keep it short{Icy(spot)}",
        GroundWord.Freezing => $"salt and ice hurt paws: rinse and dry them after{Icy(spot)}",
        GroundWord.Cold when spot.MayBeIcy => "ice may still lie: walk slowly, rinse and dry paws after",
        GroundWord.Cold => "cold for small, old and thin-coated dogs: keep them moving",
        _ => Spans.Hurt(spot.ContactTime),
    };

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
        { Changed: { } changed } => AlertTexts.Dated(spot.Name, changed, spot.TimeZoneId, unit),
        _ => "Nothing has been measured here yet.",
    };

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
