using System.Text.Json;
using PavementWatch.Core.Statistics;

namespace PavementWatch.Core.Backtesting;

/// <summary>How far off the handbook was. Its JSON is the object that <c>backtest handbook --json</c> prints.</summary>
/// <param name="All">All scenes.</param>
/// <param name="SummerDay">Those of May to September with the sun over 30°.</param>
/// <param name="Hot">Those that were hot; chosen by their outcome, so that a bias below 0 is to be expected.</param>
public sealed record HandbookReport(HandbookScore All, HandbookScore SummerDay, HandbookScore Hot)
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>The report as one JSON object; a figure without scenes is <c>null</c>.</summary>
    public string ToJson() => JsonSerializer.Serialize(this, Json);

    internal static HandbookReport Of(IReadOnlyList<ScoredScene> scenes) => new(
        HandbookScore.Of(scenes), HandbookScore.Of([.. scenes.Where(s => s.IsSummerDay)]), HandbookScore.Of([.. scenes.Where(s => s.IsHot)]));
}

/// <summary>Errors, handbook minus measurement.</summary>
/// <param name="N">Scenes. Without any nothing is known of the errors: they are <c>null</c>, not 0.</param>
/// <param name="MedianBiasKelvin">[K] Median error, positive when the handbook is too warm.</param>
/// <param name="BiasKelvin">[K] Mean error.</param>
/// <param name="RmseKelvin">[K] Root mean square error.</param>
/// <param name="AboveUpperPercent">[%] Of the scenes, those over the upper end of the 90 % interval.</param>
public sealed record HandbookScore(int N, double? MedianBiasKelvin, double? BiasKelvin, double? RmseKelvin, double? AboveUpperPercent)
{
    internal static HandbookScore Of(IReadOnlyList<ScoredScene> scenes) => scenes.Count == 0
        ? new(0, null, null, null, null)
        : new(
            scenes.Count,
            Robust.Median([.. scenes.Select(s => s.ErrorKelvin)]),
            scenes.Average(s => s.ErrorKelvin),
            Math.Sqrt(scenes.Average(s => s.ErrorKelvin * s.ErrorKelvin)),
            100.0 * scenes.Count(s => s.IsAboveUpper) / scenes.Count);
}

/// <summary>One scene against the handbook.</summary>
internal readonly record struct ScoredScene(double ErrorKelvin, bool IsAboveUpper, bool IsSummerDay, bool IsHot);
