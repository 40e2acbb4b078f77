using System.Diagnostics;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Benchmarks.Offsets;

/// <summary>The night of a large business: a thousand spots refitted on two processors, at most a minute promised.</summary>
internal static class OffsetNight
{
    public static int Run()
    {
        const int spots = 1000;
        var now = new DateTimeOffset(2030, 7, 14, 12, 0, 0, TimeSpan.Zero);
        // As the store hands it in: the window in ten-minute steps.
        var model = new OffsetModel(new OffsetOptions());
        var history = OffsetSpeed.YearOfMinutes(now, allInputs: false)[^(77 * 1440)..].Where(s => s.At.Minute % 10 == 0).ToList();
        var first = new Spot(SpotId.Parse("spot"), "Spot", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago");
        model.Fit(first, history, now);

        var before = GC.GetTotalAllocatedBytes();
        var watch = Stopwatch.StartNew();
        var samples = 0L;
        Parallel.For(0, spots, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
        {
            var kinds = Enum.GetValues<SurfaceKind>();
            var fit = model.Fit(first with { Surface = kinds[i % kinds.Length], LatitudeDegrees = 37 + 0.001 * i }, history, now);
            Interlocked.Add(ref samples, fit.SampleCount);
        });
        Console.WriteLine(
            $"{spots} spots refitted on two of {Environment.ProcessorCount} processors in {watch.Elapsed.TotalSeconds:F1} s, "
            + $"{watch.Elapsed.TotalMilliseconds * 2 / spots:F1} ms of a processor each, {samples / spots} steps each, "
            + $"{(GC.GetTotalAllocatedBytes() - before) / spots / 1e6:F1} MB allocated each");
        return 0;
    }
}
