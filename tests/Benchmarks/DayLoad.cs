using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>A spot's day over HTTP, with minutes of three months in SQLite: made anew, made anew because a reading came, and asked for again.</summary>
internal static class DayLoad
{
    // What is compiled under way is compiled again, better, after some tens of visits and some tenths of a second without anything new;
    // a server that has run for a while has that behind it.
    private const int WarmUp = 120;
    private static readonly TimeSpan LeastWarmUp = TimeSpan.FromSeconds(3);

    public static async Task<int> RunAsync(string[] args)
    {
        var spots = int.Parse(args.ElementAtOrDefault(0) ?? "5", CultureInfo.InvariantCulture);
        var rows = int.Parse(args.ElementAtOrDefault(1) ?? "130000", CultureInfo.InvariantCulture);
        var visits = int.Parse(args.ElementAtOrDefault(2) ?? "400", CultureInfo.InvariantCulture);
        var folder = Directory.CreateTempSubdirectory("pavementwatch-day-").FullName;
        try
        {
            await using var app = ServerApp.Build(new ServerAppOptions
            {
                DataFolder = folder,
                Url = "http://127.0.0.1:0",
                Settings = new Dictionary<string, string?> { ["Broker:Port"] = "0", ["Access:RequestsPerMinute"] = "100000", ["Logging:LogLevel:Default"] = "Warning", ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning" },
            });
            await app.StartAsync();
            var now = TimeProvider.System.GetUtcNow();
            await FillAsync(app.Services, spots, rows, now);
            using var browser = await SignedIn.BrowserAsync(app, Role.Walker);
            await MeasureAsync(app.Services, browser, spots, rows, visits, now);
            await app.StopAsync();
            return 0;
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task FillAsync(IServiceProvider services, int spots, int rows, DateTimeOffset now)
    {
        var began = Stopwatch.GetTimestamp();
        var (setup, store) = (services.GetRequiredService<SpotStore>(), services.GetRequiredService<IReadingStore>());
        for (var i = 0; i < spots; i++)
        {
            await setup.AddSpotAsync(new Spot(Id(i), $"Spot {i}", SurfaceKind.Asphalt, 37.4, -97, "America/Chicago") { Site = "Ferngate" }, CancellationToken.None);
            foreach (var minutes in Enumerable.Range(1, rows).Select(back => now.AddMinutes(back - rows)).Select(at => Of(i, at)).Chunk(5000))
                await store.AppendAsync(minutes, CancellationToken.None);
            await Console.Error.WriteLineAsync($"{i + 1} spots of {spots} after {Stopwatch.GetElapsedTime(began).TotalSeconds:F0} s");
        }

        await services.GetRequiredService<FitRunner>().RunAsync(null, null, CancellationToken.None);
    }

    private static async Task MeasureAsync(IServiceProvider services, HttpClient browser, int spots, int rows, int visits, DateTimeOffset now)
    {
        var store = services.GetRequiredService<IReadingStore>();
        var days = Math.Max(1, rows / 1440 - 5);
        var today = DateOnly.FromDateTime(now.UtcDateTime);
        string DayOf(int visit) => today.AddDays(-1 - (visit / spots + 37 * visit) % days).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        // A day that was not asked for yet, as far as there are any; each visit looks at another spot.
        var made = await TimesAsync(browser, visits, visit => $"/api/spots/spot-{visit % spots}/day?date={DayOf(visit)}", null);
        var changed = await TimesAsync(browser, visits / 2, visit => $"/api/spots/spot-{visit % spots}/day", async visit =>
            await store.AppendAsync([Of(visit % spots, now.AddMilliseconds(visit + 1))], CancellationToken.None));
        var kept = await TimesAsync(browser, 2 * visits, _ => "/api/spots/spot-0/day", null);
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"day: spots={spots} rows={rows} uncachedMedianMs={At(made, 0.5):F1} uncachedP99Ms={At(made, 0.99):F1} uncachedMaxMs={made.Sorted[^1]:F1} uncachedProcessorMs={made.ProcessorMs:F1} uncachedAllocatedKilobytes={made.Allocated / 1000:F0} "
            + $"afterReadingMedianMs={At(changed, 0.5):F1} afterReadingP99Ms={At(changed, 0.99):F1} "
            + $"afterReadingProcessorMs={changed.ProcessorMs:F1} afterReadingAllocatedKilobytes={changed.Allocated / 1000:F0} cachedMedianMs={At(kept, 0.5):F2} cachedP99Ms={At(kept, 0.99):F2} "
            + $"cachedProcessorMs={kept.ProcessorMs:F2} cachedAllocatedKilobytes={kept.Allocated / 1000:F0} visits={visits} processors={Environment.ProcessorCount}"));
    }

    private static async Task<(List<double> Sorted, double ProcessorMs, double Allocated)> TimesAsync(HttpClient browser, int visits, Func<int, string> path, Func<int, Task>? before)
    {
        var milliseconds = new List<double>();
        var (first, processor, allocated) = (Stopwatch.GetTimestamp(), TimeSpan.Zero, 0L);
        for (var visit = 0; milliseconds.Count < visits; visit++)
        {
            if (before is not null)
                await before(visit);
            var isWarm = visit >= WarmUp && Stopwatch.GetElapsedTime(first) >= LeastWarmUp;
            if (isWarm && milliseconds.Count == 0)
                (processor, allocated) = (Environment.CpuUsage.TotalTime, GC.GetTotalAllocatedBytes());
            var began = Stopwatch.GetTimestamp();
            await browser.GetByteArrayAsync(new Uri(path(visit), UriKind.Relative));
            if (isWarm)
                milliseconds.Add(Stopwatch.GetElapsedTime(began).TotalMilliseconds);
        }

        (processor, allocated) = (Environment.CpuUsage.TotalTime - processor, GC.GetTotalAllocatedBytes() - allocated);
        milliseconds.Sort();
        return (milliseconds, processor.TotalMilliseconds / visits, (double)allocated / visits);
    }

    private static double At((List<double> Sorted, double ProcessorMs, double Allocated) times, double share) => times.Sorted[(int)Math.Ceiling((times.Sorted.Count - 1) * share)];

    private static SpotId Id(int i) => SpotId.Parse($"spot-{i}");

    private static StoredReading Of(int spot, DateTimeOffset at) => new(
        new Reading(Id(spot), DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds()))
        {
            AirCelsius = 24 + 6 * Math.Sin(at.TimeOfDay.TotalDays * 2 * Math.PI),
            SurfaceCelsius = 30 + spot + 20 * Math.Max(0, Math.Sin((at.TimeOfDay.TotalDays - 0.5) * 2 * Math.PI)),
            HumidityPercent = 50,
        },
        at);
}
