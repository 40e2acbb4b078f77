using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Days;

/// <summary>A point of a day and whether it is at or over the limit: by its hottest reading, or by the upper end of its estimate.</summary>
internal readonly record struct Moment(DayPoint Point, bool TooHot, bool Estimated)
{
    public static Moment Of(ReadingStep step, double limitCelsius) => new(
        new DayPoint(step.End, step.SurfaceCelsius, step.AirCelsius, null, null, null) { HottestCelsius = step.SurfaceMaxCelsius, ColdestCelsius = step.SurfaceMinCelsius },
        (step.SurfaceMaxCelsius ?? step.SurfaceCelsius) >= limitCelsius,
        Estimated: false);

    public static Moment Of(SurfaceEstimate estimate, double limitCelsius) => new(
        new DayPoint(estimate.At, null, null, estimate.SurfaceCelsius, estimate.LowerCelsius, estimate.UpperCelsius) { Doubt = estimate.Doubt },
        estimate.UpperCelsius >= limitCelsius,
        Estimated: true);
}

/// <summary>Joins too hot moments to spans; measured and estimated ones stay apart.</summary>
internal static class TooHotSpans
{
    // A point speaks for the time up to the next one, but not across a gap longer than this.
    private static readonly TimeSpan LongestStride = TimeSpan.FromMinutes(20);

    /// <summary>The spans of moments in time order, and those in which a sensor in doubt said so, none going past the end.</summary>
    public static IReadOnlyList<TooHotSpan> Of(IReadOnlyList<Moment> moments, IEnumerable<DoubtedSpan> doubted, DateTimeOffset end)
    {
        var spans = Of(moments, end);
        return [.. doubted.Select(d => new TooHotSpan(d.From, d.To < end ? d.To : end, Estimated: true))
            .Where(d => !spans.Any(s => s.From <= d.From && s.To >= d.To)).Concat(spans).OrderBy(s => s.From)];
    }

    /// <summary>The spans of moments in time order, none going past the end.</summary>
    public static IReadOnlyList<TooHotSpan> Of(IReadOnlyList<Moment> moments, DateTimeOffset end)
    {
        var told = moments.Where(m => m.Point.SurfaceCelsius is not null || m.Estimated).ToList();
        var spans = new List<TooHotSpan>();
        for (var i = 0; i < told.Count; i++)
        {
            if (!told[i].TooHot)
                continue;
            var from = told[i].Point.At;
            var next = i + 1 < told.Count ? told[i + 1].Point.At : end;
            var to = next - from > LongestStride ? from + LongestStride : next;
            if (to > end)
                to = end;
            if (to <= from)
                continue;
            if (spans.Count > 0 && spans[^1].To == from && spans[^1].Estimated == told[i].Estimated)
                spans[^1] = spans[^1] with { To = to };
            else
                spans.Add(new TooHotSpan(from, to, told[i].Estimated));
        }

        return spans;
    }
}
