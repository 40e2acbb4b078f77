using PavementWatch.Core.Contact;

namespace PavementWatch.Dashboards.Days;

/// <summary>A spot of a walk with the days that the walk touches.</summary>
/// <param name="Name">The spot's name for people.</param>
/// <param name="Days">Its days in order; none where nothing is known of it.</param>
public sealed record WalkStop(string Name, IReadOnlyList<SpotDay> Days);

/// <summary>What the ground of a walk adds up to, at the hottest it may be, with as much time at each of its spots.</summary>
/// <param name="Dose">The dose.</param>
/// <param name="From">When the walk begins, UTC.</param>
/// <param name="SpotCount">How many spots it goes by.</param>
/// <param name="UnknownSpots">Names of those whose ground is not known, or not all the time.</param>
public sealed record WalkDose(ContactDose Dose, DateTimeOffset From, int SpotCount, IReadOnlyList<string> UnknownSpots)
{
    /// <summary>Name of the spot with the largest share of what is known; <c>null</c> where none has any.</summary>
    public string? HottestSpot { get; init; }

    private static readonly TimeSpan Slice = TimeSpan.FromMinutes(5);

    // Estimates stand ten minutes apart; a longer way is measured in between.
    private static readonly TimeSpan LongestStride = TimeSpan.FromMinutes(20);

    /// <summary>From when on skin is hurt, at the latest, UTC; <c>null</c> where what is known does not hurt.</summary>
    public DateTimeOffset? HurtFrom => From + Dose.HurtAfter;

    /// <summary>The dose of a walk.</summary>
    /// <param name="stops">Its spots in the order they are walked.</param>
    /// <param name="from">When it begins, UTC.</param>
    /// <param name="to">When it ends, UTC.</param>
    /// <returns>The dose; <c>null</c> for a walk without spots or time.</returns>
    public static WalkDose? Of(IReadOnlyList<WalkStop> stops, DateTimeOffset from, DateTimeOffset to)
    {
        ArgumentNullException.ThrowIfNull(stops);
        if (stops.Count == 0 || to <= from)
            return null;
        var (route, unknown) = (new List<ContactStretch>(), new List<string>());
        (string? Name, double Fraction) most = (null, 0);
        for (var i = 0; i < stops.Count; i++)
        {
            var (start, end) = (from + ((to - from) * i / stops.Count), from + ((to - from) * (i + 1) / stops.Count));
            var walked = Stretches(stops[i].Days, start, end).ToList();
            route.AddRange(walked);
            // Of two that hurt at once the first.
            if (ContactDose.Of(walked).KnownFraction is var share && share > most.Fraction)
                most = (stops[i].Name, share);
            if (walked.Exists(stretch => stretch.SurfaceCelsius is null))
                unknown.Add(stops[i].Name);
        }

        return new(ContactDose.Of(route), from, stops.Count, unknown) { HottestSpot = most.Name };
    }

    private static IEnumerable<ContactStretch> Stretches(IReadOnlyList<SpotDay> days, DateTimeOffset start, DateTimeOffset end)
    {
        var moments = days
            .SelectMany(day => day.Points.Where(p => p.At >= start - LongestStride && p.At <= end + LongestStride).Select(p => (p.At, Celsius: HottestCelsius(day, p))))
            .Where(m => m.Celsius is not null).Select(m => (m.At, Celsius: m.Celsius!.Value)).ToList();
        // What a sensor in doubt says over the limit is taken as said.
        var doubted = days
            .SelectMany(day => day.Doubted.Where(d => d.From < end && d.To > start && d.IsTooHot(day.Spot.LimitCelsius))
                .Select(d => (d.From, d.To, Celsius: ReadingUncertainty.UpperCelsius(day.Spot, d.HottestCelsius!.Value)))).ToList();
        for (var at = start; at < end; at += Slice)
        {
            var next = at + Slice < end ? at + Slice : end;
            var hottest = HottestCelsius(moments, at, next);
            foreach (var doubt in doubted.Where(d => d.From < next && d.To > at))
                hottest = Math.Max(hottest ?? doubt.Celsius, doubt.Celsius);
            yield return new(hottest, next - at);
        }
    }

    /// <summary>[°C] By the moments in a span and those on both sides of it; <c>null</c> where there are none in it and those on its sides lie too far apart.</summary>
    private static double? HottestCelsius(List<(DateTimeOffset At, double Celsius)> moments, DateTimeOffset from, DateTimeOffset to)
    {
        var (before, after) = (moments.FindLastIndex(m => m.At < from), moments.FindIndex(m => m.At > to));
        var (first, last) = (Math.Max(before, 0), after < 0 ? moments.Count - 1 : after);
        var isInside = moments.Exists(m => m.At >= from && m.At <= to);
        if (!isInside && (before < 0 || after < 0 || moments[after].At - moments[before].At > LongestStride))
            return null;
        return moments.Skip(first).Take(last - first + 1).Max(m => m.Celsius);
    }

    private static double? HottestCelsius(SpotDay day, DayPoint point)
    {
        if ((point.HottestCelsius ?? point.SurfaceCelsius) is { } measured)
            return ReadingUncertainty.UpperCelsius(day.Spot, measured, point.AirCelsius);
        // Of a spot that was never measured only a warning is believed.
        return day.NeverMeasured && GroundWords.For(point.UpperCelsius, day.Spot.LimitCelsius) < GroundWord.TooHot ? null : point.UpperCelsius;
    }
}
