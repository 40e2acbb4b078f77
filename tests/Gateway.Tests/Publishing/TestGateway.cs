using System.Collections.Concurrent;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>The real gateway as a host, on simulated buses, with a clock the test moves and an outbox the test fills.</summary>
internal sealed class TestGateway : IAsyncDisposable
{
    private readonly IHost _host;
    private readonly Messages _messages = new();

    public TestGateway(string folder, int port, TimeProvider time, params (string Key, string Value)[] settings)
        : this(folder, port, time, networkTime: null, settings)
    {
    }

    /// <param name="folder">Where its files lie.</param>
    /// <param name="port">The broker's.</param>
    /// <param name="time">The clock.</param>
    /// <param name="networkTime">The clock of the network's pauses; physical time when <c>null</c>.</param>
    /// <param name="settings">Over those of the tests.</param>
    public TestGateway(string folder, int port, TimeProvider time, TimeProvider? networkTime, params (string Key, string Value)[] settings)
    {
        var all = new Dictionary<string, string?>
        {
            ["Gateway:Id"] = "quarry",
            ["Publishing:BrokerHost"] = "127.0.0.1",
            ["Publishing:BrokerPort"] = $"{port}",
            ["Publishing:Tls"] = "false",
            ["Publishing:FirstPause"] = "00:00:00.02",
            ["Publishing:LongestPause"] = "00:00:00.1",
            ["Outbox:Path"] = Path.Combine(folder, "outbox.db"),
            ["Outbox:KeepFreeMegabytes"] = "0",
            ["Spots:quarry-steps:Surface"] = "concrete-pale",
            ["Probes:steps-ir:Kind"] = "Mlx90614",
            ["Probes:steps-ir:Spot"] = "quarry-steps",
            ["Probes:air:Kind"] = "Sht3x",
        };
        foreach (var (key, value) in settings)
            all[key] = value;
        _host = GatewayHost.Build(new GatewayHostOptions
        {
            Settings = new ConfigurationBuilder().AddInMemoryCollection(all).Build(),
            Time = time,
            World = (_, now) => World(now),
            Logging = logging => logging.AddProvider(_messages),
            Services = services =>
            {
                if (networkTime is not null)
                    services.AddSingleton(new NetworkTime(networkTime));
            },
        });
    }

    /// <summary>What the simulated probes measure.</summary>
    public Func<DateTimeOffset, TrueValues> World { get; set; } = _ => new TrueValues(50, 30, 40, -10);

    public ReadingOutbox Outbox => _host.Services.GetRequiredService<ReadingOutbox>();

    public IServiceProvider Services => _host.Services;

    /// <summary>What was logged from Warning up.</summary>
    public IReadOnlyList<string> Warnings => [.. _messages.Warnings];

    /// <summary>Starts it and waits for its first round of sampling, after which the clock may be moved.</summary>
    public async Task StartAsync()
    {
        await _host.StartAsync(TestContext.Current.CancellationToken);
        var filler = _host.Services.GetRequiredService<OutboxFiller>();
        await Patience.UntilAsync(() => filler.Steps > 0, () => "the sampling does not begin");
    }

    public Task StopAsync() => _host.StopAsync(TestContext.Current.CancellationToken);

    /// <summary>Moves the clock step by step, each after the sampling has done the one before.</summary>
    public async Task SampleAsync(FakeTimeProvider time, TimeSpan span)
    {
        var filler = _host.Services.GetRequiredService<OutboxFiller>();
        for (var moved = TimeSpan.Zero; moved < span; moved += TimeSpan.FromSeconds(5))
        {
            var before = filler.Steps;
            time.Advance(TimeSpan.FromSeconds(5));
            await Patience.UntilAsync(() => filler.Steps > before, () => "the sampling stands still");
        }
    }

    /// <summary>Waits until a warning with these words was logged, so many times.</summary>
    public async Task WarningAsync(string words, int times = 1)
    {
        using var patience = Patience.Token();
        while (_messages.Warnings.Count(warning => warning.Contains(words, StringComparison.Ordinal)) < times)
        {
            try
            {
                await _messages.Arrived.WaitAsync(patience.Token);
            }
            catch (OperationCanceledException)
            {
                Assert.Fail($"no warning with '{words}' came, but: {string.Join(" | ", _messages.Warnings)}");
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        await _host.StopAsync();
        _host.Dispose();
    }

    private sealed class Messages : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Warnings { get; } = new();

        public SemaphoreSlim Arrived { get; } = new(0);

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (!IsEnabled(logLevel))
                return;
            Warnings.Enqueue($"{formatter(state, exception)} {exception}".TrimEnd());
            Arrived.Release();
        }

        public void Dispose()
        {
        }
    }
}
