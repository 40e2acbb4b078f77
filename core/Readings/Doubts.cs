namespace PavementWatch.Core.Readings;

/// <summary>The words for doubts and qualities on the wire and in the store: <c>suspect:spike,wet</c>.</summary>
public static class Doubts
{
    private static readonly (Doubt Doubt, string Word)[] Words =
    [
        (Doubt.Spike, "spike"),
        (Doubt.Stuck, "stuck"),
        (Doubt.Disagrees, "disagrees"),
        (Doubt.Wet, "wet"),
        (Doubt.SensorHeating, "sensor-heating"),
        (Doubt.FewSamples, "few-samples"),
        (Doubt.Clock, "clock"),
        (Doubt.CheckByte, "check-byte"),
        (Doubt.OutOfRange, "out-of-range"),
    ];

    /// <summary>The words of a set of doubts, in the order of their values, joined by commas.</summary>
    /// <param name="doubt">The doubts.</param>
    /// <returns>E.g. <c>spike,wet</c>; empty for <see cref="Doubt.None"/>.</returns>
    public static string Text(Doubt doubt) =>
        string.Join(',', Words.Where(w => doubt.HasFlag(w.Doubt)).Select(w => w.Word));

    /// <summary>The doubt of one word.</summary>
    /// <param name="word">E.g. <c>spike</c>.</param>
    /// <param name="doubt">The doubt, or <see cref="Doubt.None"/>.</param>
    /// <returns>Whether the word is known.</returns>
    public static bool TryParse(string? word, out Doubt doubt)
    {
        doubt = Words.FirstOrDefault(w => w.Word == word).Doubt;
        return doubt != Doubt.None;
    }
}
