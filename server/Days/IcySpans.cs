using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Days;

namespace PavementWatch.Server.Days;

/// <summary>When a day's ground may be icy, by <see cref="IceMemory"/> as everywhere.</summary>
internal static class IcySpans
{
    /// <summary>Ground that never comes below this on a day cannot be icy on it: nobody has to look at the days before.</summary>
    public const double ColdDayCelsius = 10;

    /// <summary>How far back a day's ice is looked for.</summary>
    public static readonly TimeSpan Reach = IceMemory.LateReach;

    /// <summary>The spans of moments in time order.</summary>
    /// <param name="before">What is remembered at the day's beginning.</param>
    /// <param name="sights">What each moment says.</param>
    /// <param name="longestGap">Moments further apart than this do not follow each other.</param>
    /// <param name="from">The day's first moment, UTC.</param>
    /// <param name="to">Its end, UTC.</param>
    public static IReadOnlyList<IcySpan> Of(
        IceMemory before, IEnumerable<GroundSight> sights, TimeSpan longestGap, DateTimeOffset from, DateTimeOffset to)
    {
        var spans = new List<IcySpan>();
        var (ice, last) = (before, from);
        foreach (var sight in sights)
        {
            var was = ice.IcySince;
            ice = ice.After(sight, longestGap);
            last = sight.At;
            if (was is { } since && ice.IcySince is null && sight.At > from)
                spans.Add(new(since > from ? since : from, sight.At));
        }

        // A gap ends no ice.
        if (ice.IcySince is { } still && (last < to ? last : to) is var until && until > from)
            spans.Add(new(still > from ? still : from, until));
        return [.. spans.Where(s => s.From < s.To)];
    }

    /// <summary>With what the watch says of now, which has seen more: every minute, and doubt.</summary>
    public static IReadOnlyList<IcySpan> With(this IReadOnlyList<IcySpan> spans, DateTimeOffset? icySince, DateTimeOffset now, DateTimeOffset from, DateTimeOffset to)
    {
        var (first, last) = (icySince > from ? icySince : from, now < to ? now : to);
        if (icySince is null || first >= last)
            return spans;
        var joined = new List<IcySpan>();
        foreach (var span in spans.Append(new(first.Value, last)).OrderBy(s => s.From))
        {
            if (joined.Count > 0 && span.From <= joined[^1].To)
                joined[^1] = joined[^1] with { To = span.To > joined[^1].To ? span.To : joined[^1].To };
            else
                joined.Add(span);
        }

        return joined;
    }

    /// <summary>What an estimate says of ice.</summary>
    /// <param name="estimate">The estimate.</param>
    /// <param name="now">UTC; what is later is expected.</param>
    public static GroundSight SightOf(SurfaceEstimate estimate, DateTimeOffset now) =>
        new(estimate.At, estimate.LowerCelsius, estimate.At > now ? GroundEvidence.Expected : GroundEvidence.Estimated) { Wet = estimate.Doubt.HasFlag(EstimateDoubt.MaybeWet) };
}
