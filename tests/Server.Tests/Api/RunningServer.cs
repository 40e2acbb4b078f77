using System.Collections.Concurrent;
using System.Net;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Api;

/// <summary>The whole server on a free loopback port with its data in a folder of its own; errors in its log fail the test.</summary>
internal sealed class RunningServer : IAsyncDisposable
{
    /// <summary>When every test's clock starts: noon in Ferngate on an invented hot day.</summary>
    public static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    public static readonly Spot NorthGate = new(
        SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, "America/Chicago")
    {
        Site = "North Gate",
    };

    public static readonly Spot QuarrySteps = new(
        SpotId.Parse("quarry-steps"), "Quarry Steps", SurfaceKind.ConcretePale, 37.41, -97.01, "America/Chicago")
    {
        Site = "Quarry",
    };

    /// <summary>A registry as the first start makes it, made once: making its tables again for each test took a good part of a start.</summary>
    private static readonly Lazy<byte[]> EmptyRegistry = new(MakeEmptyRegistry);

    private readonly string _folder;
    private readonly bool _keepFolder;
    private readonly ErrorsKept _errors = new();

    private RunningServer(string? folder, FakeTimeProvider time, IReadOnlyDictionary<string, string?>? settings, Action<IServiceCollection>? services, DateTimeOffset? peopleNow)
    {
        PeopleTime = new FakeTimeProvider(peopleNow ?? TimeProvider.System.GetUtcNow());
        _keepFolder = folder is not null;
        _folder = folder ?? Directory.CreateTempSubdirectory("pw-server-").FullName;
        if (folder is null)
            File.WriteAllBytes(Path.Combine(_folder, "registry.sqlite"), EmptyRegistry.Value);
        Time = time;
        App = ServerApp.Build(new ServerAppOptions
        {
            Time = time,
            PeopleTime = PeopleTime,
            DataFolder = _folder,
            Url = "http://127.0.0.1:0",
            Settings = new Dictionary<string, string?>(settings ?? new Dictionary<string, string?>())
            {
                ["Broker:Port"] = "0",
                ["Logging:LogLevel:Default"] = "Warning",
                ["Logging:LogLevel:Microsoft.Hosting.Lifetime"] = "Warning",
            },
            Services = s =>
            {
                s.AddLogging(l => l.ClearProviders().AddProvider(_errors));
                services?.Invoke(s);
            },
        });
    }

    public WebApplication App { get; }

    public FakeTimeProvider Time { get; }

    /// <summary>The people's clock: begins now, for browsers drop cookies by the real time.</summary>
    public FakeTimeProvider PeopleTime { get; }

    public string Folder => _folder;

    /// <summary>Part of an error that the test provokes on purpose.</summary>
    public string? ExpectedError { get; set; }

    /// <summary>Parts of several such errors.</summary>
    public IReadOnlyList<string> ExpectedErrors { get; set; } = [];

    public Uri Address => new(App.Urls.Single());

    public static async Task<RunningServer> StartAsync(
        string? folder = null,
        FakeTimeProvider? time = null,
        IReadOnlyDictionary<string, string?>? settings = null,
        Action<IServiceCollection>? services = null,
        IReadOnlyList<Spot>? spots = null,
        DateTimeOffset? peopleNow = null)
    {
        var server = new RunningServer(folder, time ?? new FakeTimeProvider(Noon), settings, services, peopleNow);
        await server.App.StartAsync();
        // What it makes up for at the start is done before a test adds spots that it would fit too.
        var working = server.App.Services.GetServices<IHostedService>().ToList();
        await working.OfType<NightlyFits>().Single().FirstLook;
        await working.OfType<WatchService>().Single().FirstLook;
        foreach (var spot in spots ?? [NorthGate, QuarrySteps])
            await server.Get<SpotStore>().AddSpotAsync(spot, default);
        return server;
    }

    public T Get<T>()
        where T : notnull => App.Services.GetRequiredService<T>();

    /// <summary>A browser that nobody has signed in; redirects are shown, not followed.</summary>
    /// <param name="device">What it says it is.</param>
    /// <param name="cookies">What it keeps; nothing yet unless given.</param>
    public HttpClient Browser(string? device = null, CookieContainer? cookies = null)
    {
        var browser = new HttpClient(new HttpClientHandler { CookieContainer = cookies ?? new CookieContainer(), AllowAutoRedirect = false }) { BaseAddress = Address };
        if (device is not null)
            browser.DefaultRequestHeaders.UserAgent.ParseAdd(device);
        return browser;
    }

    /// <summary>A browser in which somebody of the role has opened their link.</summary>
    public async Task<HttpClient> BrowserOfAsync(Role role, string? name = null)
    {
        var people = Get<PersonStore>();
        var person = await people.AddAsync(name ?? role.ToString(), role, default);
        var token = await people.NewSignInTokenAsync(person.Id, default);
        var browser = Browser();
        using var answer = await browser.EnterAsync($"/enter/{token}");
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        return browser;
    }

    /// <summary>Stores readings and tells the watch, as the way in from the broker does.</summary>
    public async Task MeasureAsync(params IEnumerable<Reading> readings)
    {
        var received = Time.GetUtcNow();
        var fresh = await Get<IReadingStore>().AppendAsync([.. readings.Select(r => new StoredReading(r, received))], default);
        Get<ReadingFeed>().Publish([.. fresh.Select(f => new HeardReading(f.Reading, f.Reading.MeasuredAt))]);
    }

    /// <summary>A good reading.</summary>
    public static Reading Good(Spot spot, DateTimeOffset at, double? surface, double? air = 35) =>
        new(spot.Id, at) { SurfaceCelsius = surface, AirCelsius = air, HumidityPercent = 30 };

    /// <summary>The spot on the board as soon as it is as wanted.</summary>
    public async Task<SpotNow> SeenAsync(Spot spot, Func<SpotNow, bool> wanted)
    {
        using var listener = Get<SpotBoard>().Listen();
        return await HeardAsync(listener, spot, Get<SpotBoard>().Find(spot.Id), wanted);
    }

    private static async Task<SpotNow> HeardAsync(SpotBoard.Listener listener, Spot spot, SpotNow? now, Func<SpotNow, bool> wanted)
    {
        using var patience = Patience.Token();
        while (now is null || !wanted(now))
        {
            try
            {
                now = (await listener.NextAsync(patience.Token)).FirstOrDefault(s => s.Id == spot.Id) ?? now;
            }
            catch (OperationCanceledException)
            {
                Assert.Fail($"{spot.Name} did not become as wanted; it is {now}");
            }
        }

        return now;
    }

    /// <summary>Moves the clock a minute on and waits until the watch has looked at all spots.</summary>
    /// <remarks>A look that began before may end after the move: it shows the new time with the old estimate.</remarks>
    public async Task<SpotNow> MinuteAsync(Spot spot)
    {
        var before = Time.GetTimestamp();
        Time.Advance(TimeSpan.FromMinutes(1));
        await LookedAfterAsync(before);
        return await SeenAsync(spot, s => s.Now == Time.GetUtcNow());
    }

    /// <summary>Waits for the end of a look at all spots that began after a moment of the watch's clock.</summary>
    public Task LookedAfterAsync(long timestamp)
    {
        var watch = App.Services.GetServices<IHostedService>().OfType<WatchService>().Single();
        return Patience.UntilAsync(() => watch.LookedAt > timestamp, () => "nobody looks");
    }

    /// <summary>Waits until no message waits for a push service.</summary>
    public Task AllSentAsync() => Patience.UntilAsync(
        async () =>
        {
            await using var db = await Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(TestContext.Current.CancellationToken);
            return !await db.Notifications.AnyAsync(n => n.Standing == NotificationStanding.Waiting);
        },
        () => "something waits to be sent");

    /// <summary>Moves the clock on and lets whoever sends look again.</summary>
    /// <remarks>An outbox that was about to sleep when the clock moved counts its sleep from after the move; clocks of the system do not leap.</remarks>
    public void Later(TimeSpan span)
    {
        Time.Advance(span);
        Get<NotificationOutbox>().Call();
        Get<BusinessOutbox>().Call();
    }

    /// <summary>Moves the clock on as if the machine had slept: what ticks each minute ticks once, not once for each of thousands.</summary>
    /// <remarks>As timers of the system do, which owe nothing for the time they missed; the fake clock would call each tick of it.</remarks>
    public void SleepFor(TimeSpan span)
    {
        var tick = TimeSpan.FromMinutes(1);
        Time.AdjustTime(Time.GetUtcNow() + span - tick);
        Time.Advance(tick);
    }

    public async ValueTask DisposeAsync()
    {
        await App.StopAsync();
        await App.DisposeAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (!_keepFolder)
            Directory.Delete(_folder, recursive: true);
        List<string> expected = [.. ExpectedErrors, .. ExpectedError is { } one ? [one] : Array.Empty<string>()];
        var unexpected = _errors.Lines.Where(l => !expected.Exists(e => l.Contains(e, StringComparison.Ordinal))).ToList();
        Assert.True(unexpected.Count == 0, string.Join(Environment.NewLine, unexpected));
    }

    private static byte[] MakeEmptyRegistry()
    {
        var folder = Directory.CreateTempSubdirectory("pw-registry-").FullName;
        try
        {
            var path = Path.Combine(folder, "registry.sqlite");
            var services = new ServiceCollection().Configure<IdentityOptions>(RegistryDb.TablesOfIdentity).BuildServiceProvider();
            using (var db = new RegistryDb(new DbContextOptionsBuilder<RegistryDb>()
                .UseSqlite($"Data Source={path};Pooling=False").UseApplicationServiceProvider(services).Options))
                db.Database.Migrate();
            return File.ReadAllBytes(path);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private sealed class ErrorsKept : ILoggerProvider
    {
        public ConcurrentQueue<string> Lines { get; } = [];

        public ILogger CreateLogger(string categoryName) => new Kept(Lines, categoryName);

        public void Dispose()
        {
        }

        private sealed class Kept(ConcurrentQueue<string> lines, string category) : ILogger
        {
            public IDisposable? BeginScope<TState>(TState state)
                where TState : notnull => null;

            public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

            public void Log<TState>(
                LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
            {
                if (logLevel >= LogLevel.Error || IsMistake(eventId))
                    lines.Enqueue($"{formatter(state, exception)} {exception}");
            }

            // What the database finds odd about a question; a page that says of caches what its form's token then takes back.
            private bool IsMistake(EventId warning) =>
                category == "Microsoft.EntityFrameworkCore.Query" || warning.Name == "ResponseCacheHeadersOverridenToNoCache";
        }
    }
}
