using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>Quality and doubts by name, as both stores keep them: <c>suspect</c>, <c>spike,wet</c>.</summary>
internal static class QualityNames
{
    public const string Good = "good";

    public static string Of(ReadingQuality quality) => quality switch
    {
        ReadingQuality.Good => Good,
        ReadingQuality.Suspect => "suspect",
        _ => "rejected",
    };

    public static string Of(Doubt doubt) => Doubts.Text(doubt);

    /// <summary>A word this version does not know is the cautious quality.</summary>
    public static ReadingQuality ReadQuality(string word) => word switch
    {
        Good => ReadingQuality.Good,
        "suspect" => ReadingQuality.Suspect,
        _ => ReadingQuality.Rejected,
    };

    /// <summary>Words this version does not know are left out; the quality beside them still counts.</summary>
    public static Doubt ReadDoubt(string words)
    {
        var doubt = Doubt.None;
        foreach (var word in words.Split(',', StringSplitOptions.RemoveEmptyEntries))
        {
            if (Doubts.TryParse(word, out var one))
                doubt |= one;
        }

        return doubt;
    }
}
