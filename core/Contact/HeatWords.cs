namespace PavementWatch.Core.Contact;

/// <summary>Chooses the word for a surface temperature (thresholds: design of the product, after ASTM C1055; human skin stands in for paws).</summary>
public static class HeatWords
{
    /// <summary>[°C] Below this a surface is comfortable.</summary>
    public const double WarmFromCelsius = 43;

    /// <summary>[°C] From here a surface burns in seconds.</summary>
    public const double BurnsFromCelsius = 56;

    /// <summary>The word for a surface at a limit.</summary>
    /// <param name="surfaceCelsius">[°C] Surface temperature; <c>null</c> or NaN is <see cref="HeatWord.Unknown"/>.</param>
    /// <param name="limitCelsius">[°C] The limit that applies to the spot (and the dog).</param>
    /// <returns>The word; at a threshold, as it is shown with one decimal, the hotter word.</returns>
    /// <remarks>A page that says 56.0 °C must say what it says of 56 °C.</remarks>
    public static HeatWord For(double? surfaceCelsius, double limitCelsius) =>
        surfaceCelsius switch
        {
            null or double.NaN => HeatWord.Unknown,
            { } t when IsAt(t, BurnsFromCelsius) => HeatWord.BurnsInSeconds,
            { } t when IsAt(t, limitCelsius) => HeatWord.TooHot,
            { } t when IsAt(t, WarmFromCelsius) => HeatWord.Warm,
            _ => HeatWord.Comfortable,
        };

    private static bool IsAt(double celsius, double threshold) =>
        celsius >= threshold || Math.Round(celsius, 1, MidpointRounding.AwayFromZero) >= threshold;

    /// <summary>The word for a surface that is estimated: of a spot that was never measured only heat is believed.</summary>
    /// <remarks>Nobody has seen yet whether position, kind of ground and probe are right; a wrong sign made hot asphalt comfortable.</remarks>
    /// <param name="upperCelsius">[°C] Upper end of the estimate; <c>null</c> or NaN is <see cref="HeatWord.Unknown"/>.</param>
    /// <param name="limitCelsius">[°C] The limit that applies to the spot (and the dog).</param>
    /// <param name="everMeasured">Whether a good reading ever came from the spot.</param>
    /// <returns>The word; under the limit <see cref="HeatWord.Unknown"/> before the first reading.</returns>
    public static HeatWord ForEstimate(double? upperCelsius, double limitCelsius, bool everMeasured) =>
        For(upperCelsius, limitCelsius) is var word && (everMeasured || word >= HeatWord.TooHot) ? word : HeatWord.Unknown;

    /// <summary>The word as people read it.</summary>
    /// <param name="word">The word.</param>
    /// <returns>Lower-case English, e.g. <c>burns in seconds</c>.</returns>
    public static string Text(HeatWord word) => word switch
    {
        HeatWord.Comfortable => "comfortable",
        HeatWord.Warm => "warm",
        HeatWord.TooHot => "too hot",
        HeatWord.BurnsInSeconds => "burns in seconds",
        _ => "unknown",
    };
}
