using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>The night of a large business by the server's own parts: every spot refitted on its minutes in SQLite, held against the fit in use and against an older one.</summary>
/// <remarks>
/// One spot's minutes are invented and stored as readings are; the others get them by SQL, each a little different, hour by
/// hour, so that they lie scattered in the file as if they had come in together. The night itself runs in a process of its
/// own, whose memory is not the filling's.
/// </remarks>
internal static class NightLoad
{
    private const int Sites = 12;
    private const int DaysAsked = 76;

    // A fit of so long ago is what a drift is looked for against.
    private static readonly TimeSpan Earlier = TimeSpan.FromDays(11);

    public static async Task<int> RunAsync(string[] args)
    {
        if (args is ["--of", var filled])
            return await NightAsync(filled);
        var spots = int.Parse(args.ElementAtOrDefault(0) ?? "1000", CultureInfo.InvariantCulture);
        var days = int.Parse(args.ElementAtOrDefault(1) ?? $"{DaysAsked}", CultureInfo.InvariantCulture);
        var folder = Path.Combine(args.ElementAtOrDefault(2) ?? Path.GetTempPath(), "pavementwatch-night-" + Guid.NewGuid().ToString("N"));
        Directory.CreateDirectory(folder);
        try
        {
            await FillAsync(folder, spots, days);
            using var night = Process.Start(new ProcessStartInfo("dotnet", [Environment.GetCommandLineArgs()[0], "night", "--of", folder]))!;
            await night.WaitForExitAsync();
            return night.ExitCode;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<int> NightAsync(string folder)
    {
        await using var app = await PartsAsync(folder, TimeProvider.System);
        var runner = app.Services.GetRequiredService<FitRunner>();
        using var self = Process.GetCurrentProcess();
        var (began, processor) = (Stopwatch.GetTimestamp(), self.TotalProcessorTime);
        var results = await runner.RunAsync(only: null, progress: null, CancellationToken.None);
        var seconds = Stopwatch.GetElapsedTime(began).TotalSeconds;
        self.Refresh();
        var samples = results.Sum(r => (long)r.Fit.SampleCount);
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"night: spots={results.Count} steps_per_spot={samples / Math.Max(1, results.Count)} seconds={seconds:F1} "
            + $"processor_seconds={(self.TotalProcessorTime - processor).TotalSeconds:F1} peak_megabytes={self.PeakWorkingSet64 / 1e6:F0} "
            + $"in_use={results.Count(r => r.Standing == FitStanding.InUse)} waiting={results.Count(r => r.Standing == FitStanding.Waiting)} "
            + $"readings_gigabytes={new FileInfo(Readings(folder)).Length / 1e9:F2} processors={Environment.ProcessorCount}"));
        return results.Count > 0 ? 0 : 1;
    }

    private static async Task FillAsync(string folder, int spots, int days)
    {
        var now = TimeProvider.System.GetUtcNow();
        var began = Stopwatch.GetTimestamp();
        await using (var app = await PartsAsync(folder, new Shifted(-Earlier)))
        {
            var setup = app.Services.GetRequiredService<SpotStore>();
            for (var i = 0; i < spots; i++)
            {
                var kinds = SurfaceKinds.All;
                await setup.AddSpotAsync(
                    new Spot(Id(i), $"Spot {i}", kinds[i % kinds.Count], 37 + 0.001 * i, -97, "America/Chicago") { Site = $"Site {i % Sites}" },
                    CancellationToken.None);
            }

            await Console.Error.WriteLineAsync($"{spots} spots at {Sites} sites after {Stopwatch.GetElapsedTime(began).TotalSeconds:F0} s");
            var store = app.Services.GetRequiredService<IReadingStore>();
            foreach (var minutes in Minutes(Id(0), now, days).Chunk(5000))
                await store.AppendAsync(minutes, CancellationToken.None);
        }

        SqliteConnection.ClearAllPools();
        Multiply(Readings(folder), spots, now, days, began);
        await using (var app = await PartsAsync(folder, new Shifted(-Earlier)))
        {
            var done = 0;
            await app.Services.GetRequiredService<FitRunner>().RunAsync(null, new Count(() => done++), CancellationToken.None);
            await Console.Error.WriteLineAsync($"an earlier fit of {done} spots after {Stopwatch.GetElapsedTime(began).TotalSeconds:F0} s; now the night");
        }

        SqliteConnection.ClearAllPools();
    }

    private static void Multiply(string path, int spots, DateTimeOffset now, int days, long began)
    {
        using var connection = new SqliteConnection($"Data Source={path};Pooling=False");
        connection.Open();
        // Nothing here must outlive a crash.
        Execute(connection, "PRAGMA journal_mode = DELETE; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA cache_size = -400000;");
        Execute(connection, "CREATE TEMP TABLE other (spot TEXT PRIMARY KEY, place INTEGER) WITHOUT ROWID;");
        for (var i = 1; i < spots; i++)
            Execute(connection, $"INSERT INTO other VALUES ('{Id(i)}', {i})");
        for (var day = days; day >= 0; day--)
        {
            using var transaction = connection.BeginTransaction();
            for (var hour = 24; hour > 0; hour--)
            {
                var (from, to) = (now.AddDays(-day).AddHours(-hour), now.AddDays(-day).AddHours(1 - hour));
                Copy("reading", "measured_at", "measured_at, received_at, surface_celsius + place % 17 * 0.05, air_celsius + place % 12 * 0.1, humidity_percent, sensor_celsius, light_lux, supply_volts, quality, doubt", from, to);
                Copy("ten_minutes", "ending", "ending, good, readings, surface_celsius + place % 17 * 0.05, surface_max_celsius + place % 17 * 0.05, air_celsius + place % 12 * 0.1, humidity_percent", from, to);
            }

            transaction.Commit();
            if (day % 10 == 0)
                Console.Error.WriteLine($"minutes up to {day} days ago after {Stopwatch.GetElapsedTime(began).TotalSeconds:F0} s");
        }

        Execute(connection, "PRAGMA journal_mode = WAL;");

        void Copy(string table, string time, string values, DateTimeOffset from, DateTimeOffset to) => Execute(
            connection,
            $"""
            INSERT INTO {table} SELECT other.spot, {values} FROM other CROSS JOIN {table} AS one
            WHERE one.spot = '{Id(0)}' AND one.{time} >= {from.ToUnixTimeMilliseconds()} AND one.{time} < {to.ToUnixTimeMilliseconds()};
            """);
    }

    /// <summary>Minutes of a spot up to now and a day more than asked: sun, air that follows it, clouds of a seeded source.</summary>
    private static IEnumerable<StoredReading> Minutes(SpotId spot, DateTimeOffset now, int days)
    {
        var random = new Random(42);
        double clearness = 1;
        for (var minute = (days + 1) * 1440; minute > 0; minute--)
        {
            var at = DateTimeOffset.FromUnixTimeMilliseconds(now.AddMinutes(-minute).ToUnixTimeMilliseconds());
            if (minute % 360 == 0)
                clearness = 0.3 + 0.7 * random.NextDouble();
            var sun = clearness * Math.Max(0, 900 * Math.Sin(2 * Math.PI * (at.TimeOfDay.TotalDays - 0.52)));
            var air = 20 + 0.008 * sun + random.NextDouble();
            yield return new StoredReading(
                new Reading(spot, at) { AirCelsius = air, SurfaceCelsius = air - 2 + 0.026 * sun + random.NextDouble(), HumidityPercent = 40 + 20 * random.NextDouble() },
                at.AddSeconds(2));
        }
    }

    private static async Task<Microsoft.AspNetCore.Builder.WebApplication> PartsAsync(string folder, TimeProvider time)
    {
        var app = ServerApp.Build(new ServerAppOptions
        {
            DataFolder = folder,
            Time = time,
            Settings = new Dictionary<string, string?> { ["Logging:LogLevel:Default"] = "Warning" },
        });
        await app.Services.GetRequiredService<RegistryStart>().StartingAsync(CancellationToken.None);
        return app;
    }

    private static void Execute(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // Texts of this file.
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }

    private static SpotId Id(int i) => SpotId.Parse($"spot-{i}");

    private static string Readings(string folder) => Path.Combine(folder, "readings.sqlite");

    private sealed class Shifted(TimeSpan by) : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => System.GetUtcNow() + by;
    }

    private sealed class Count(Action one) : IProgress<FitResult>
    {
        public void Report(FitResult value) => one();
    }
}
