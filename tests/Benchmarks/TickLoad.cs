using System.Collections.Concurrent;
using System.Diagnostics;
using System.Diagnostics.Metrics;
using System.Globalization;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;
using PavementWatch.Server.Watch;
using PavementWatch.Server.Weather;

namespace PavementWatch.Benchmarks;

/// <summary>A tick over every spot of a large business in the running server, and how long a reading that comes meanwhile waits until it is shown.</summary>
/// <remarks>
/// One spot in twenty has no probe, one in ten no air; half of them have a fit, half of the sites a weather station and a forecast. In
/// each round some fall silent and some come back. The watch's ticks come one after another instead of once a minute. The spots without a
/// fit get theirs first, as the server makes up for a missed night; with "night", all are fitted again and again beside the ticks.
/// </remarks>
internal static class TickLoad
{
    private const int WarmUp = 10;
    private const int DarkOneIn = 20;
    private const int AirlessOneIn = 10;

    // Rounds for which a spot is not read in its turn: longer than silence takes here.
    private const int RestingRounds = 12;
    private static readonly TimeSpan Tick = TimeSpan.FromSeconds(59);

    public static async Task<int> RunAsync(string[] args)
    {
        var spots = int.Parse(args.ElementAtOrDefault(0) ?? "1000", CultureInfo.InvariantCulture);
        var sites = int.Parse(args.ElementAtOrDefault(1) ?? "12", CultureInfo.InvariantCulture);
        var ticks = int.Parse(args.ElementAtOrDefault(2) ?? "100", CultureInfo.InvariantCulture);
        var isNight = args.ElementAtOrDefault(3) == "night";
        var folder = Directory.CreateTempSubdirectory("pavementwatch-tick-").FullName;
        try
        {
            var time = new CalledTicks(Tick);
            await using var app = ServerApp.Build(new ServerAppOptions
            {
                DataFolder = folder,
                Url = "http://127.0.0.1:0",
                Time = time,
                Settings = new Dictionary<string, string?>
                {
                    ["Broker:Port"] = "0",
                    ["Watch:Tick"] = Tick.ToString(),
                    // So that silence comes within some rounds.
                    ["Watch:Interval"] = "00:00:01",
                    ["Logging:LogLevel:Default"] = "Warning",
                    ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning",
                },
            });
            await app.StartAsync();
            var all = await FillAsync(app.Services, spots, sites);
            await FittedAsync(app.Services);
            using var over = new CancellationTokenSource();
            var night = isNight ? FitOnAsync(app.Services.GetRequiredService<FitRunner>(), over.Token) : Task.CompletedTask;
            await MeasureAsync(app.Services, time, all, sites, ticks);
            await over.CancelAsync();
            await night;
            await app.StopAsync();
            return 0;
        }
        finally
        {
            SqliteConnection.ClearAllPools();
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<IReadOnlyList<Spot>> FillAsync(IServiceProvider services, int spots, int sites)
    {
        var began = Stopwatch.GetTimestamp();
        var (setup, store, kept, places) = (services.GetRequiredService<SpotStore>(), services.GetRequiredService<IReadingStore>(), services.GetRequiredService<FitStore>(), services.GetRequiredService<WeatherStore>());
        var now = TimeProvider.System.GetUtcNow();
        var kinds = SurfaceKinds.All;
        List<Spot> all = [.. Enumerable.Range(0, spots).Select(i => new Spot(SpotId.Parse($"spot-{i}"), $"Spot {i}", kinds[i % kinds.Count], 37 + 0.001 * i, -97, "America/Chicago") { Site = $"Site {i % sites}" })];
        List<DateTimeOffset> steps = [.. Enumerable.Range(1, 3 * 144).Select(i => now.AddMinutes(-10 * i)).Reverse()];
        var model = new OffsetModel(new OffsetOptions());
        var fit = model.Fit(all[0], [.. steps.Select(at => new WeatherSample(at, Air(at)) { HumidityPercent = 50, SurfaceCelsius = Surface(at) })], now.AddHours(-1));
        for (var i = 0; i < spots; i++)
        {
            await setup.AddSpotAsync(all[i], CancellationToken.None);
            if (i % 2 == 0)
                await kept.AddAsync(fit with { Id = $"spot-{i}-1", SpotName = all[i].Id.Value }, FitStanding.InUse, "first", CancellationToken.None);
            if (i % 50 == 49)
            {
                await store.AppendAsync([.. Enumerable.Range(i - 49, 50).Where(n => n % DarkOneIn != 0).SelectMany(n => steps.Select(at => new StoredReading(Of(all[n], n, at, Surface(at)), at)))], CancellationToken.None);
                await Console.Error.WriteLineAsync($"{i + 1} spots of {spots} after {Stopwatch.GetElapsedTime(began).TotalSeconds:F0} s");
            }
        }

        var hour = new DateTimeOffset(now.UtcTicks - now.UtcTicks % TimeSpan.TicksPerHour, TimeSpan.Zero);
        for (var site = 0; site < sites; site += 2)
        {
            await places.StoreAsync(new WeatherOrigin($"Site {site}", WeatherKind.Observed, now), Hours(hour.AddHours(-80), 80), CancellationToken.None);
            await places.StoreAsync(new WeatherOrigin($"Site {site}", WeatherKind.Forecast, now), Hours(hour.AddHours(1), 72), CancellationToken.None);
        }

        return all;
    }

    /// <summary>Waits until the spots that had no fit have one: the server makes them, on as many processors as it may take.</summary>
    private static async Task FittedAsync(IServiceProvider services)
    {
        var (filled, fits) = (TimeProvider.System.GetUtcNow(), services.GetServices<IHostedService>().OfType<NightlyFits>().Single());
        while (fits.LookedAt < filled)
            await Task.Delay(100);
    }

    private static async Task FitOnAsync(FitRunner runner, CancellationToken cancellationToken)
    {
        try
        {
            while (true)
                await runner.RunAsync(only: null, progress: null, cancellationToken);
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            // Measured.
        }
    }

    private static async Task MeasureAsync(IServiceProvider services, CalledTicks time, IReadOnlyList<Spot> spots, int sites, int ticks)
    {
        var (feed, board, store) = (services.GetRequiredService<ReadingFeed>(), services.GetRequiredService<SpotBoard>(), services.GetRequiredService<IReadingStore>());
        using var taken = new Ticks();
        using var shown = new Shown(board);
        List<int> lit = [.. Enumerable.Range(0, spots.Count).Where(i => i % DarkOneIn != 0)];
        var (milliseconds, before, processor, bytes, pauses) = (new List<double>(), 0, TimeSpan.Zero, 0L, TimeSpan.Zero);
        for (var round = -WarmUp; round < ticks; round++)
        {
            if (round == 0)
            {
                taken.Milliseconds.Clear();
                shown.Clear();
                before = await ChangesAsync(services);
                (processor, bytes, pauses) = (Environment.CpuUsage.TotalTime, GC.GetTotalAllocatedBytes(), GC.GetTotalPauseDuration());
            }

            var now = TimeProvider.System.GetUtcNow();
            var resting = Math.Max(0, round) * spots.Count / 100;
            List<int> read = [.. lit.Where(i => (i - resting + RestingRounds * spots.Count) % spots.Count >= RestingRounds * spots.Count / 100)];
            // Most of a minute's readings come before the tick, some while it goes on.
            List<int> meanwhile = [.. read.Where((_, place) => place % 5 == (round & 3))];
            List<Reading> first = [.. read.Except(meanwhile).Select(i => Of(spots[i], i, now, Surface(now)))];
            await store.AppendAsync([.. first.Concat(meanwhile.Select(i => Of(spots[i], i, now, Surface(now)))).Select(r => new StoredReading(r, now))], CancellationToken.None);
            feed.Publish([.. first.Select(r => new HeardReading(r, r.MeasuredAt))]);
            var done = taken.NextAsync();
            await Task.Delay(50);
            time.Call();
            foreach (var i in meanwhile)
            {
                if (done.IsCompleted)
                    break;
                var at = TimeProvider.System.GetUtcNow();
                shown.Expect(spots[i].Id, at);
                feed.Publish([new HeardReading(Of(spots[i], i, at, Surface(at)), at)]);
                await Task.Delay(1);
            }

            milliseconds.Add(await done);
        }

        (processor, bytes, pauses) = (Environment.CpuUsage.TotalTime - processor, GC.GetTotalAllocatedBytes() - bytes, GC.GetTotalPauseDuration() - pauses);
        await shown.AllAsync();
        var late = shown.Late;
        var changes = await ChangesAsync(services) - before;
        var (tick, wait) = (Sorted(taken.Milliseconds), Sorted(shown.Milliseconds));
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"tick: spots={spots.Count} sites={sites} medianMs={At(tick, 0.5):F1} p99Ms={At(tick, 0.99):F1} readingWaitMedianMs={At(wait, 0.5):F2} readingWaitP99Ms={At(wait, 0.99):F2} "
            + $"ticks={tick.Count} readingsMeanwhile={wait.Count} shownTooLate={late} changesPerTick={(double)changes / tick.Count:F1} "
            + $"processorMsPerTick={processor.TotalMilliseconds / tick.Count:F1} megabytesPerTick={bytes / 1e6 / tick.Count:F1} pausesMsPerTick={pauses.TotalMilliseconds / tick.Count:F1} processors={Environment.ProcessorCount}"));
    }

    private static async Task<int> ChangesAsync(IServiceProvider services)
    {
        await using var db = await services.GetRequiredService<IDbContextFactory<RegistryDb>>().CreateDbContextAsync();
        return await db.AlertEvents.CountAsync();
    }

    private static Reading Of(Spot spot, int number, DateTimeOffset at, double surface) => new(spot.Id, DateTimeOffset.FromUnixTimeMilliseconds(at.ToUnixTimeMilliseconds()))
    {
        SurfaceCelsius = surface,
        AirCelsius = number % AirlessOneIn == 1 ? null : Air(at),
        HumidityPercent = number % AirlessOneIn == 1 ? null : 50,
    };

    private static double Air(DateTimeOffset at) => 20 + 5 * Math.Sin(at.TimeOfDay.TotalDays * 2 * Math.PI);

    private static double Surface(DateTimeOffset at) => 24 + 16 * Math.Max(0, Math.Sin((at.TimeOfDay.TotalDays - 0.5) * 2 * Math.PI));

    private static WeatherValues[] Hours(DateTimeOffset first, int count) => [.. Enumerable.Range(0, count).Select(i => first.AddHours(i)).Select(at => new WeatherValues(at)
    {
        AirCelsius = Air(at), HumidityPercent = 50, WindMetersPerSecond = 2, SolarWattsPerSquareMeter = 400,
    })];

    private static List<double> Sorted(IEnumerable<double> values) => [.. values.Order()];

    private static double At(List<double> sorted, double share) => sorted.Count == 0 ? double.NaN : sorted[(int)Math.Ceiling((sorted.Count - 1) * share)];

    /// <summary>The clock of the system; the timer of the watch's ticks goes off when it is called.</summary>
    private sealed class CalledTicks(TimeSpan period) : TimeProvider
    {
        private Action _call = static () => { };

        public void Call() => _call();

        public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan every)
        {
            if (every != period)
                return base.CreateTimer(callback, state, dueTime, every);
            _call = () => callback(state);
            return base.CreateTimer(static _ => { }, null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        }
    }

    /// <summary>How long the ticks took, as the watch says.</summary>
    private sealed class Ticks : IDisposable
    {
        private readonly MeterListener _listener = new();
        private TaskCompletionSource<double> _next = new(TaskCreationOptions.RunContinuationsAsynchronously);

        public Ticks()
        {
            _listener.InstrumentPublished = (instrument, listener) =>
            {
                if (instrument.Meter.Name == WatchMetrics.MeterName)
                    listener.EnableMeasurementEvents(instrument);
            };
            _listener.SetMeasurementEventCallback<double>((_, seconds, _, _) =>
            {
                Milliseconds.Enqueue(seconds * 1000);
                _next.TrySetResult(seconds * 1000);
            });
            _listener.Start();
        }

        public ConcurrentQueue<double> Milliseconds { get; } = [];

        public Task<double> NextAsync() => (_next = new(TaskCreationOptions.RunContinuationsAsynchronously)).Task;

        public void Dispose() => _listener.Dispose();
    }

    /// <summary>When readings are shown, each or a newer one of its spot; one too late to say how the spot is now is known by its time beside an estimate.</summary>
    private sealed class Shown : IDisposable
    {
        private readonly SpotBoard.Listener _listener;
        private readonly CancellationTokenSource _end = new();
        private readonly ConcurrentDictionary<SpotId, (DateTimeOffset At, long Since)> _expected = [];
        private readonly Task _listening;
        private volatile int _late;

        public Shown(SpotBoard board)
        {
            _listener = board.Listen();
            _listening = Task.Run(ListenAsync);
        }

        public ConcurrentQueue<double> Milliseconds { get; } = [];

        /// <summary>How many were shown when they were no longer of now.</summary>
        public int Late => _late;

        public void Clear()
        {
            Milliseconds.Clear();
            _late = 0;
        }

        public void Expect(SpotId spot, DateTimeOffset at) => _expected[spot] = (at, Stopwatch.GetTimestamp());

        public async Task AllAsync()
        {
            for (var i = 0; i < 1000 && !_expected.IsEmpty; i++)
                await Task.Delay(10);
            if (!_expected.IsEmpty)
                throw new InvalidOperationException($"{_expected.Count} readings are not shown");
        }

        public void Dispose()
        {
            _end.Cancel();
            _listening.Wait();
            _listener.Dispose();
            _end.Dispose();
        }

        private async Task ListenAsync()
        {
            while (!_end.IsCancellationRequested)
            {
                try
                {
                    foreach (var spot in await _listener.NextAsync(_end.Token))
                    {
                        if (!_expected.TryGetValue(spot.Id, out var expected) || !(spot.MeasuredAt >= expected.At) || !_expected.TryRemove(new(spot.Id, expected)))
                            continue;
                        Milliseconds.Enqueue(Stopwatch.GetElapsedTime(expected.Since).TotalMilliseconds);
                        if (spot.Estimated)
                            _late++;
                    }
                }
                catch (OperationCanceledException)
                {
                    return;
                }
            }
        }
    }
}
