using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>Quality and doubts as one text value: <c>suspect:spike,wet</c>.</summary>
internal static class WireQuality
{
    /// <summary>The text, or <c>null</c> where a good reading says nothing.</summary>
    public static string? Text(Reading reading) => (reading.Quality, reading.Doubt) switch
    {
        (ReadingQuality.Good, Doubt.None) => null,
        (ReadingQuality.Rejected, var doubt) => Joined("rejected", doubt),
        (_, var doubt) => Joined("suspect", doubt),
    };

    /// <summary>Reads the text. A doubt that is not known leaves the quality as it is said to be.</summary>
    /// <returns>Quality, doubts, and the first word that is not known; a <c>null</c> quality when that word was the quality.</returns>
    public static (ReadingQuality? Quality, Doubt Doubt, string? UnknownWord) Parse(string text)
    {
        var colon = text.IndexOf(':');
        var level = colon < 0 ? text : text[..colon];
        ReadingQuality? quality = level switch
        {
            "good" => ReadingQuality.Good,
            "suspect" => ReadingQuality.Suspect,
            "rejected" => ReadingQuality.Rejected,
            _ => null,
        };
        if (quality is null)
            return (null, Doubt.None, level);

        var doubts = Doubt.None;
        string? unknown = null;
        foreach (var word in colon < 0 ? [] : text[(colon + 1)..].Split(','))
        {
            if (Doubts.TryParse(word, out var doubt))
                doubts |= doubt;
            else
                unknown ??= word;
        }

        // Doubt and "good" contradict each other; the cautious one holds.
        if (quality == ReadingQuality.Good && (doubts != Doubt.None || unknown is not null))
            quality = ReadingQuality.Suspect;
        return (quality, doubts, unknown);
    }

    private static string Joined(string level, Doubt doubt) =>
        doubt == Doubt.None ? level : $"{level}:{Doubts.Text(doubt)}";
}
