using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>Takes readings together in steps of time, as <see cref="IReadingStore.StepsAsync"/> promises.</summary>
internal static class ReadingSteps
{
    /// <summary>End of the step a moment belongs to: the next multiple of the step since 1970, or the moment itself on one.</summary>
    public static long EndMilliseconds(long milliseconds, long stepMilliseconds) =>
        (milliseconds + stepMilliseconds - 1) / stepMilliseconds * stepMilliseconds;

    public static long StepMilliseconds(TimeSpan step)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(step, TimeSpan.FromMilliseconds(1));
        return (long)step.TotalMilliseconds;
    }

    /// <param name="readings">One spot's readings in time order.</param>
    /// <param name="step">Length of a step, at least a millisecond.</param>
    public static IReadOnlyList<ReadingStep> Of(IEnumerable<StoredReading> readings, TimeSpan step)
    {
        var length = StepMilliseconds(step);
        return [.. readings
            .Select(stored => stored.Reading)
            .GroupBy(reading => EndMilliseconds(reading.MeasuredAt.ToUnixTimeMilliseconds(), length))
            .Select(group => Take(DateTimeOffset.FromUnixTimeMilliseconds(group.Key), [.. group]))];
    }

    private static ReadingStep Take(DateTimeOffset end, Reading[] readings)
    {
        var good = readings.Where(reading => reading.Quality == ReadingQuality.Good).ToArray();
        var airy = readings.Where(reading => reading.HasSoundAir).ToArray();
        return new ReadingStep(end, good.Length, readings.Length)
        {
            SurfaceCelsius = good.Average(reading => reading.SurfaceCelsius),
            SurfaceMaxCelsius = good.Max(reading => reading.SurfaceCelsius),
            SurfaceMinCelsius = good.Min(reading => reading.SurfaceCelsius),
            AirCelsius = airy.Average(reading => reading.AirCelsius),
            HumidityPercent = airy.Average(reading => reading.HumidityPercent),
            HeatedSurfaceCelsius = readings.Where(reading => reading.IsOnlySensorHeating).Average(reading => reading.SurfaceCelsius),
            Doubts = readings.Aggregate(Doubt.None, (doubts, reading) => doubts | reading.Doubt),
        };
    }
}
