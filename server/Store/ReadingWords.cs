using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>Quality and doubts by name, as both stores keep them: <c>suspect</c>, <c>spike,wet</c>.</summary>
internal static class ReadingWords
{
    public const string Good = "good";

    private static readonly (Doubt Doubt, string Name)[] Doubts =
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

    public static string Of(ReadingQuality quality) => quality switch
    {
        ReadingQuality.Good => Good,
        ReadingQuality.Suspect => "suspect",
        _ => "rejected",
    };

    public static string Of(Doubt doubt) =>
        string.Join(',', Doubts.Where(one => doubt.HasFlag(one.Doubt)).Select(one => one.Name));

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
            doubt |= Doubts.FirstOrDefault(one => one.Name == word).Doubt;
        return doubt;
    }
}
