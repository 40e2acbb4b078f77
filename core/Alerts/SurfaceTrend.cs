namespace PavementWatch.Core.Alerts;

/// <summary>The straight line through a spot's newest good readings.</summary>
internal static class SurfaceTrend
{
    /// <summary>Readings kept: those of so many intervals.</summary>
    public const int WindowIntervals = 15;

    /// <summary>Fewer readings than these make no trend.</summary>
    public const int LeastReadings = 5;

    /// <summary>The newest readings with one more.</summary>
    public static IReadOnlyList<TrendPoint> With(IReadOnlyList<TrendPoint> recent, TrendPoint newest, AlertRule rule) =>
        [.. recent.Where(p => p.At < newest.At && newest.At - p.At < rule.Interval * WindowIntervals).TakeLast(4 * WindowIntervals), newest];

    /// <summary>When the line reaches the limit, if it does so within the rule's lead of the newest reading.</summary>
    /// <returns>The moment; the newest reading's own when the line is there already; <c>null</c> when it does not.</returns>
    /// <remarks>Ordinary least squares on the readings; by definition.</remarks>
    public static DateTimeOffset? Reaches(IReadOnlyList<TrendPoint> recent, AlertRule rule)
    {
        if (recent.Count < LeastReadings || recent[^1].At - recent[0].At < rule.Interval * (LeastReadings - 1))
            return null;

        var newest = recent[^1].At;
        var meanMinutes = recent.Average(p => (p.At - newest).TotalMinutes);
        var meanCelsius = recent.Average(p => p.SurfaceCelsius);
        double across = 0, along = 0;
        foreach (var (at, celsius) in recent)
        {
            var minutes = (at - newest).TotalMinutes - meanMinutes;
            across += minutes * (celsius - meanCelsius);
            along += minutes * minutes;
        }

        var kelvinPerMinute = across / along;
        var missingKelvin = rule.Threshold - (meanCelsius - (kelvinPerMinute * meanMinutes));
        if (!(kelvinPerMinute > 0) || missingKelvin > kelvinPerMinute * rule.RisingLead.TotalMinutes)
            return null;
        return newest + TimeSpan.FromMinutes(Math.Max(0, missingKelvin / kelvinPerMinute));
    }
}
