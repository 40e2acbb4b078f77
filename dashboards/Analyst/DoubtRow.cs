using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>Residuals of the moments at which something spoke against the estimate. A moment with two doubts stands in both rows.</summary>
/// <param name="Why">What spoke against it.</param>
/// <param name="Count">Moments.</param>
/// <param name="MeanKelvin">[K] Mean residual; <c>null</c> without moments.</param>
/// <param name="RmseKelvin">[K] Root of their mean square; <c>null</c> without moments.</param>
/// <param name="InsidePercent">[%] Readings inside the 90 % interval; <c>null</c> without moments.</param>
internal sealed record DoubtRow(string Why, int Count, double? MeanKelvin, double? RmseKelvin, double? InsidePercent)
{
    /// <summary>A row without doubt, then one for each doubt there was; those that never came are left out.</summary>
    public static IReadOnlyList<DoubtRow> Of(IReadOnlyList<ResidualPoint> points) =>
    [
        Row("nothing", [.. points.Where(p => p.Doubt == EstimateDoubt.None)]),
        .. EstimateDoubtTexts.Each(points.Aggregate(EstimateDoubt.None, (all, p) => all | p.Doubt))
            .Select(d => Row(EstimateDoubtTexts.One(d), [.. points.Where(p => p.Doubt.HasFlag(d))])),
    ];

    private static DoubtRow Row(string why, List<ResidualPoint> points) => points.Count == 0
        ? new(why, 0, null, null, null)
        : new(
            why, points.Count, points.Average(p => p.ResidualKelvin), Math.Sqrt(points.Average(p => p.ResidualKelvin * p.ResidualKelvin)),
            100.0 * points.Count(p => p.Inside) / points.Count);
}
