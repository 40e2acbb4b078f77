using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Doubts about a reading in plain words.</summary>
internal static class DoubtTexts
{
    /// <summary>Each doubt's words, joined; empty when there is none.</summary>
    public static string Of(Doubt doubt) =>
        string.Join(", ", Enum.GetValues<Doubt>().Where(d => d != Doubt.None && doubt.HasFlag(d)).Select(One));

    private static string One(Doubt doubt) => doubt switch
    {
        Doubt.Spike => "it jumped further than ground can",
        Doubt.Stuck => "the value has not moved for too long",
        Doubt.Disagrees => "it is cooler than its weather explains",
        Doubt.Wet => "the ground or the sensor is wet, or was within the hour",
        Doubt.SensorHeating => "the sensor itself is warming up",
        Doubt.FewSamples => "too few samples",
        Doubt.Clock => "the gateway's clock was not set",
        Doubt.CheckByte => "the sensor's message was damaged",
        Doubt.OutOfRange => "outside what ground can be",
        _ => "of unknown quality",
    };
}
