using System.Diagnostics;
using System.Globalization;
using System.Security.Claims;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>What the analyst waits for: the list of all offsets, and the page of a spot that was checked by hand a thousand times.</summary>
internal static class AnalystLoad
{
    private const int Checks = 1000;
    // What is compiled under way is compiled again, better, after some tens of visits; a server that has run for a while has that behind it.
    private const int WarmUp = 120;

    public static async Task<int> RunAsync(string[] args)
    {
        var spots = int.Parse(args.ElementAtOrDefault(0) ?? "200", CultureInfo.InvariantCulture);
        var fits = int.Parse(args.ElementAtOrDefault(1) ?? "40", CultureInfo.InvariantCulture);
        var visits = int.Parse(args.ElementAtOrDefault(2) ?? "500", CultureInfo.InvariantCulture);
        var folder = Directory.CreateTempSubdirectory("pavementwatch-analyst-").FullName;
        try
        {
            await using var app = ServerApp.Build(new ServerAppOptions
            {
                DataFolder = folder,
                Url = "http://127.0.0.1:0",
                Settings = new Dictionary<string, string?> { ["Broker:Port"] = "0", ["Access:RequestsPerMinute"] = "100000", ["Logging:LogLevel:Default"] = "Warning", ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning" },
            });
            await app.StartAsync();
            await FillAsync(app.Services, spots, fits);
            using var browser = await SignedIn.BrowserAsync(app, Role.Analyst);
            var list = await MeasureAsync(browser, "/analyst", visits);
            var spot = await MeasureAsync(browser, "/analyst/spots/spot-0", visits / 10);
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"analyst: spots={spots} fits_per_spot={fits} list_median_ms={list.Median:F1} list_p99_ms={list.P99:F1} list_max_ms={list.Most:F1} list_kilobytes={list.Bytes / 1000} "
                + $"list_processor_ms={list.ProcessorMs:F1} list_allocated_kilobytes={list.Allocated / 1000:F0} "
                + $"checks={Checks} spot_median_ms={spot.Median:F1} spot_p99_ms={spot.P99:F1} spot_processor_ms={spot.ProcessorMs:F1} visits={visits} processors={Environment.ProcessorCount}"));
            await app.StopAsync();
            return 0;
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task FillAsync(IServiceProvider services, int spots, int fits)
    {
        var (setup, store, kept) = (services.GetRequiredService<SpotStore>(), services.GetRequiredService<IReadingStore>(), services.GetRequiredService<FitStore>());
        var now = TimeProvider.System.GetUtcNow();
        var first = new Spot(SpotId.Parse("spot-0"), "Spot 0", SurfaceKind.Asphalt, 37.4, -97, "America/Chicago");
        var samples = Enumerable.Range(0, 30 * 144).Select(i => now.AddMinutes(-10 * (30 * 144 - i))).Select(at => new WeatherSample(at, 25 + 5 * Math.Sin(at.TimeOfDay.TotalDays * 6.28))
        {
            HumidityPercent = 50,
            SurfaceCelsius = 30 + 20 * Math.Max(0, Math.Sin((at.TimeOfDay.TotalDays - 0.5) * 6.28)),
        }).ToList();
        var fit = new OffsetModel(new OffsetOptions()).Fit(first, samples, now);
        for (var i = 0; i < spots; i++)
        {
            var spot = first with { Id = SpotId.Parse($"spot-{i}"), Name = $"Spot {i}" };
            await setup.AddSpotAsync(spot, CancellationToken.None);
            for (var night = fits - 1; night >= 0; night--)
            {
                await kept.AddAsync(
                    fit with { Id = $"{spot.Id}-{night}", SpotName = spot.Id.Value, FittedAt = now.AddDays(-night), MeanOffsetKelvin = 8 + night % 7 * 0.1 },
                    night % 20 == 7 ? FitStanding.Waiting : FitStanding.InUse, "no worse: 0.80 K against 0.81 K on the middle one of the last 5 days", CancellationToken.None);
            }

            if (i % 50 == 49)
                await Console.Error.WriteLineAsync($"{i + 1} spots of {spots}");
        }

        await store.AppendAsync(
            [.. samples.Select(s => new StoredReading(
                new Reading(first.Id, DateTimeOffset.FromUnixTimeMilliseconds(s.At.ToUnixTimeMilliseconds())) { AirCelsius = s.AirCelsius, SurfaceCelsius = s.SurfaceCelsius, HumidityPercent = 50 }, s.At))],
            CancellationToken.None);
        var checks = services.GetRequiredService<ISpotChecks>();
        for (var i = 0; i < Checks; i++)
        {
            // Some on each of the last days, the others before anything was measured.
            await checks.AddAsync(
                new SpotCheck(first.Id, now.AddMinutes(-i * (i < 100 ? 400 : 1440)), 42) { EmissivityFraction = 0.95 }, new ClaimsPrincipal(), CancellationToken.None);
        }
    }

    private static async Task<(double Median, double P99, double Most, int Bytes, double ProcessorMs, double Allocated)> MeasureAsync(HttpClient browser, string path, int visits)
    {
        var milliseconds = new List<double>();
        var (bytes, processor, allocated) = (0, TimeSpan.Zero, 0L);
        for (var visit = -WarmUp; visit < visits; visit++)
        {
            if (visit == 0)
                (processor, allocated) = (Environment.CpuUsage.TotalTime, GC.GetTotalAllocatedBytes());
            var began = Stopwatch.GetTimestamp();
            bytes = (await browser.GetByteArrayAsync(new Uri(path, UriKind.Relative))).Length;
            if (visit >= 0)
                milliseconds.Add(Stopwatch.GetElapsedTime(began).TotalMilliseconds);
        }

        (processor, allocated) = (Environment.CpuUsage.TotalTime - processor, GC.GetTotalAllocatedBytes() - allocated);
        milliseconds.Sort();
        return (
            milliseconds[milliseconds.Count / 2], milliseconds[(int)((milliseconds.Count - 1) * 0.99)], milliseconds[^1], bytes,
            processor.TotalMilliseconds / visits, (double)allocated / visits);
    }
}
