namespace PavementWatch.Core.Contact;

/// <summary>Chooses the word for a surface temperature.</summary>
/// <remarks>
/// Thresholds for heat: design of the product, after ASTM C1055. For cold: frost injury to bare human skin on cold surfaces
/// within minutes, ISO 13732-3:2005, from memory; ice by definition; 5 °C is common practice, no source. Human skin stands in for
/// paws on both sides.
/// </remarks>
public static class GroundWords
{
    /// <summary>[°C] Below this frost can injure pads.</summary>
    public const double BitterBelowCelsius = -10;

    /// <summary>[°C] At or under this water on the ground is ice.</summary>
    public const double FreezingUpToCelsius = 0;

    /// <summary>[°C] Below this a surface is cold.</summary>
    public const double ComfortableFromCelsius = 5;

    /// <summary>[°C] Below this a surface is comfortable.</summary>
    public const double WarmFromCelsius = 43;

    /// <summary>[°C] From here a surface burns in seconds.</summary>
    public const double BurnsFromCelsius = 56;

    /// <summary>The word for a surface at a limit.</summary>
    /// <param name="surfaceCelsius">[°C] Surface temperature; <c>null</c> or NaN is <see cref="GroundWord.Unknown"/>.</param>
    /// <param name="limitCelsius">[°C] The limit that applies to the spot (and the dog).</param>
    /// <returns>The word; at a threshold of heat, as it is shown with one decimal, the hotter word, at freezing the colder one.</returns>
    /// <remarks>A page that says 56.0 °C must say what it says of 56 °C.</remarks>
    public static GroundWord For(double? surfaceCelsius, double limitCelsius) =>
        surfaceCelsius switch
        {
            null or double.NaN => GroundWord.Unknown,
            { } t when IsAt(t, BurnsFromCelsius) => GroundWord.BurnsInSeconds,
            { } t when IsAt(t, limitCelsius) => GroundWord.TooHot,
            { } t when IsAt(t, WarmFromCelsius) => GroundWord.Warm,
            >= ComfortableFromCelsius => GroundWord.Comfortable,
            < BitterBelowCelsius => GroundWord.Bitter,
            { } t when IsAt(-t, -FreezingUpToCelsius) => GroundWord.Freezing,
            _ => GroundWord.Cold,
        };

    /// <summary>Whether a surface is at a threshold of heat or over it, as it is shown with one decimal. Of the cold, turn both over.</summary>
    /// <param name="celsius">[°C] Surface temperature.</param>
    /// <param name="threshold">[°C] The threshold.</param>
    public static bool IsAt(double celsius, double threshold) =>
        celsius >= threshold || Math.Round(celsius, 1, MidpointRounding.AwayFromZero) >= threshold;

    /// <summary>The word for a surface that is estimated: of a spot that was never measured only a warning is believed.</summary>
    /// <remarks>Nobody has seen yet whether position, kind of ground and probe are right; a wrong sign made hot asphalt comfortable.</remarks>
    /// <param name="lowerCelsius">[°C] Lower end of the estimate; <c>null</c> or NaN says nothing of cold.</param>
    /// <param name="upperCelsius">[°C] Upper end of the estimate; <c>null</c> or NaN is <see cref="GroundWord.Unknown"/>.</param>
    /// <param name="limitCelsius">[°C] The limit that applies to the spot (and the dog).</param>
    /// <param name="everMeasured">Whether a good reading ever came from the spot.</param>
    /// <returns>The graver of the words of both ends; <see cref="GroundWord.Unknown"/> before the first reading unless that is a warning.</returns>
    public static GroundWord ForEstimate(double? lowerCelsius, double? upperCelsius, double limitCelsius, bool everMeasured)
    {
        var hot = For(upperCelsius, limitCelsius);
        if (hot == GroundWord.Unknown)
            return hot;
        var word = Gravest([hot, For(lowerCelsius, limitCelsius)]);
        return everMeasured || IsWarning(word) ? word : GroundWord.Unknown;
    }

    /// <summary>The word for ground on which ice may lie: none that is better than cold, unless it is of heat.</summary>
    /// <param name="word">The word for its temperature.</param>
    /// <param name="mayBeIcy">Whether it may be icy, see <see cref="IceMemory"/>.</param>
    /// <returns>The word.</returns>
    public static GroundWord WithIce(GroundWord word, bool mayBeIcy) =>
        mayBeIcy && word == GroundWord.Comfortable ? GroundWord.Cold : word;

    /// <summary>The word for a surface by a reading that looks too cool where nothing else speaks: only a warning is believed.</summary>
    /// <remarks>A van's shade or a wet window says nothing of the ground beside it.</remarks>
    /// <param name="surfaceCelsius">[°C] What the reading says; <c>null</c> or NaN is <see cref="GroundWord.Unknown"/>.</param>
    /// <param name="limitCelsius">[°C] The limit that applies to the spot (and the dog).</param>
    /// <returns>The word where it warns; else <see cref="GroundWord.Unknown"/>.</returns>
    public static GroundWord ForDoubted(double? surfaceCelsius, double limitCelsius) =>
        For(surfaceCelsius, limitCelsius) is var word && IsWarning(word) ? word : GroundWord.Unknown;

    /// <summary>Whether a word warns: too hot and worse, freezing and worse.</summary>
    /// <param name="word">The word.</param>
    public static bool IsWarning(GroundWord word) =>
        word >= GroundWord.TooHot || word is GroundWord.Freezing or GroundWord.Bitter;

    /// <summary>How grave a word is, to order by: burns, too hot, bitter, freezing, unknown, warm, cold, comfortable.</summary>
    /// <param name="word">The word.</param>
    /// <returns>0 for comfortable, rising.</returns>
    public static int Gravity(GroundWord word) => word switch
    {
        GroundWord.BurnsInSeconds => 7,
        GroundWord.TooHot => 6,
        GroundWord.Bitter => 5,
        GroundWord.Freezing => 4,
        GroundWord.Unknown => 3,
        GroundWord.Warm => 2,
        GroundWord.Cold => 1,
        _ => 0,
    };

    /// <summary>The gravest of some words, of which the unknown say nothing beside any other.</summary>
    /// <param name="words">The words.</param>
    /// <returns><see cref="GroundWord.Unknown"/> where there is no other.</returns>
    public static GroundWord Gravest(IEnumerable<GroundWord> words) =>
        words.Where(w => w != GroundWord.Unknown).DefaultIfEmpty(GroundWord.Unknown).MaxBy(Gravity);

    /// <summary>The word as people read it: what matters of cold ground on which ice may lie is the ice.</summary>
    /// <param name="word">The word, see <see cref="WithIce"/>.</param>
    /// <param name="mayBeIcy">Whether it may be icy.</param>
    /// <returns>Lower-case English, e.g. <c>may be icy</c>.</returns>
    public static string Text(GroundWord word, bool mayBeIcy) => mayBeIcy && word == GroundWord.Cold ? "may be icy" : Text(word);

    /// <summary>The word as people read it.</summary>
    /// <param name="word">The word.</param>
    /// <returns>Lower-case English, e.g. <c>burns in seconds</c>.</returns>
    public static string Text(GroundWord word) => word switch
    {
        GroundWord.Bitter => "bitter",
        GroundWord.Freezing => "freezing",
        GroundWord.Cold => "cold",
        GroundWord.Comfortable => "comfortable",
        GroundWord.Warm => "warm",
        GroundWord.TooHot => "too hot",
        GroundWord.BurnsInSeconds => "burns in seconds",
        _ => "unknown",
    };
}
