using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>A span of a day in which the estimate may be further off than its interval says.</summary>
/// <param name="From">First moment, UTC.</param>
/// <param name="To">Last moment, UTC.</param>
/// <param name="Kind">E.g. <c>maybeWet</c>.</param>
/// <param name="Text">Why, in plain words.</param>
public sealed record DayDoubt(DateTimeOffset From, DateTimeOffset To, string Kind, string Text)
{
    // Estimates stand ten minutes apart; a longer way is measured in between.
    private static readonly TimeSpan LongestStride = TimeSpan.FromMinutes(20);

    /// <summary>The doubts of a day, the gravest first, each in time order.</summary>
    public static IReadOnlyList<DayDoubt> Of(SpotDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        var all = day.Points.Aggregate(EstimateDoubt.None, (doubts, point) => doubts | point.Doubt);
        return [.. EstimateDoubtTexts.Each(all).SelectMany(d => Spans(day, d))];
    }

    private static IEnumerable<DayDoubt> Spans(SpotDay day, EstimateDoubt doubt)
    {
        DayDoubt? span = null;
        foreach (var at in day.Points.Where(p => p.Doubt.HasFlag(doubt)).Select(p => p.At))
        {
            if (span is not null && at - span.To <= LongestStride)
            {
                span = span with { To = at };
                continue;
            }

            if (span is not null)
                yield return span;
            span = new(at, at, EstimateDoubtTexts.Names(doubt)[0], EstimateDoubtTexts.One(doubt));
        }

        if (span is not null)
            yield return span;
    }
}
