using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

/// <summary>Readings of one spot in one ten-minute span taken together, when there is no room for each.</summary>
internal static class TenMinuteMean
{
    private const long SpanMilliseconds = 600_000;

    /// <summary>[K] Doubted ground hotter by more than this than the good of its span is not given up for it. Our choice.</summary>
    private const double HidesKelvin = 1;

    /// <summary>Number of the span a moment belongs to; a moment on the boundary ends the span before it.</summary>
    public static long SpanOf(long unixMilliseconds) => (unixMilliseconds + SpanMilliseconds - 1) / SpanMilliseconds;

    /// <summary>Parts a span into what is taken together: mostly all of it. Doubted heat over what is good stays apart, or the good would hide it.</summary>
    /// <param name="span">Of one spot, in the order of their times.</param>
    /// <param name="reading">The reading of one of them.</param>
    public static IEnumerable<List<T>> Parts<T>(IReadOnlyList<T> span, Func<T, Reading> reading)
    {
        var good = span.Select(reading).Where(one => one.Quality == ReadingQuality.Good).Average(one => one.SurfaceCelsius);
        return span.GroupBy(one => reading(one) is { Quality: ReadingQuality.Suspect } doubted && doubted.SurfaceCelsius > good + HidesKelvin)
            .Select(part => part.ToList());
    }

    /// <summary>The mean of what is good among them (of all, when none is), at the time of the last.</summary>
    /// <remarks>The hottest surface would be lost in a mean only for minutes: a surface's heat takes longer than that to build.</remarks>
    public static Reading Of(IReadOnlyList<Reading> readings)
    {
        var best = readings.Max(reading => reading.Quality);
        var used = readings.Where(reading => reading.Quality == best).ToList();
        return readings[^1] with
        {
            SurfaceCelsius = Mean(used, reading => reading.SurfaceCelsius),
            AirCelsius = Mean(used, reading => reading.AirCelsius),
            HumidityPercent = Mean(used, reading => reading.HumidityPercent),
            SensorCelsius = Mean(used, reading => reading.SensorCelsius),
            LightLux = Mean(used, reading => reading.LightLux),
            SupplyVolts = Mean(used, reading => reading.SupplyVolts),
            // The widest: what lay between the minutes is not in it, and nothing of now is judged by a mean.
            SpreadKelvin = used.Max(reading => reading.SpreadKelvin),
            Quality = best,
            Doubt = used.Aggregate(Doubt.None, (doubt, reading) => doubt | reading.Doubt),
        };
    }

    private static double? Mean(List<Reading> readings, Func<Reading, double?> field) => readings.Average(field);
}
