using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>Broker, ingest and store as the server has them, on free loopback ports and a temporary file, with real MQTT clients.</summary>
internal sealed class BrokerHost : IAsyncDisposable
{
    public static readonly GatewayId NorthGate = GatewayId.Parse("north-gate");
    public static readonly GatewayId Quarry = GatewayId.Parse("quarry");
    public static readonly SpotId Plaza = SpotId.Parse("north-gate-plaza");
    public static readonly SpotId Steps = SpotId.Parse("quarry-steps");

    private readonly ConcurrentDictionary<string, long> _counts = new();
    private readonly ConcurrentQueue<string> _log = new();
    private readonly MeterListener _meters = new();
    private readonly List<IMqttClient> _clients = [];
    private IHost? _host;

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2026, 7, 14, 14, 0, 0, TimeSpan.Zero));

    public string Folder { get; init; } = Directory.CreateTempSubdirectory("broker-").FullName;

    public bool KeepFolder { get; set; }

    public TestDirectory Gateways { get; } = new();

    public Dictionary<string, string?> Settings { get; } = new() { ["Broker:Port"] = "0" };

    public GatedStore Store => (GatedStore)Get<IReadingStore>();

    public IBroker Broker => Get<IBroker>();

    public IReadOnlyCollection<string> LogLines => _log;

    public T Get<T>()
        where T : notnull => _host!.Services.GetRequiredService<T>();

    public static async Task<BrokerHost> StartAsync(Action<BrokerHost>? prepare = null)
    {
        var host = new BrokerHost();
        prepare?.Invoke(host);
        return await StartAsync(host);
    }

    public static async Task<BrokerHost> StartAsync(BrokerHost host)
    {
        try
        {
            await host.StartHostAsync();
            return host;
        }
        catch
        {
            await host.DisposeAsync();
            throw;
        }
    }

    /// <summary>How often something was counted under a reason, or without one under the instrument's name.</summary>
    public long Count(string reason) => _counts.GetValueOrDefault(reason);

    /// <summary>Waits until a line with this text is logged; fails with what was logged instead.</summary>
    public async Task<string> LoggedAsync(string text)
    {
        await Patience.UntilAsync(
            () => _log.Any(line => line.Contains(text, StringComparison.Ordinal)),
            () => $"nothing with '{text}' was logged, but:\n{string.Join('\n', _log)}");
        return _log.First(line => line.Contains(text, StringComparison.Ordinal));
    }

    public static MqttClientOptionsBuilder OptionsFor(GatewayId gateway, int port) =>
        new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithProtocolVersion(MqttProtocolVersion.V500)
            .WithClientId(gateway.Value).WithCredentials(gateway.Value, TestDirectory.PasswordOf(gateway.Value));

    public IMqttClient Client()
    {
        var client = new MqttClientFactory().CreateMqttClient();
        _clients.Add(client);
        return client;
    }

    public async Task<IMqttClient> ConnectAsync(GatewayId gateway, Func<MqttClientOptionsBuilder, MqttClientOptionsBuilder>? change = null)
    {
        var client = Client();
        var options = OptionsFor(gateway, Broker.Port);
        var answer = await client.ConnectAsync((change?.Invoke(options) ?? options).Build(), TestContext.Current.CancellationToken);
        Assert.Equal(MqttClientConnectResultCode.Success, answer.ResultCode);
        return client;
    }

    public static Task<MqttClientPublishResult> SendAsync(
        IMqttClient client, GatewayId gateway, byte[] payload, string? boot = null, long sequence = 0)
    {
        var message = new MqttApplicationMessageBuilder().WithTopic(Topics.Readings(gateway)).WithPayload(payload)
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        if (boot is not null)
        {
            message.WithUserProperty("boot", System.Text.Encoding.UTF8.GetBytes(boot));
            message.WithUserProperty("seq", System.Text.Encoding.UTF8.GetBytes(sequence.ToString()));
        }

        return client.PublishAsync(message.Build(), TestContext.Current.CancellationToken);
    }

    public Reading Now(SpotId spot, double surface, int minutesAgo = 0) =>
        new(spot, Time.GetUtcNow().AddMinutes(-minutesAgo)) { SurfaceCelsius = surface, AirCelsius = 33 };

    public async ValueTask DisposeAsync()
    {
        foreach (var client in _clients)
            client.Dispose();
        if (_host is not null)
        {
            await _host.StopAsync();
            if (_host is IAsyncDisposable disposable)
                await disposable.DisposeAsync();
        }

        _meters.Dispose();
        SqliteConnection.ClearAllPools();
        if (!KeepFolder)
            Directory.Delete(Folder, recursive: true);
    }

    private async Task StartHostAsync()
    {
        var builder = Host.CreateEmptyApplicationBuilder(null);
        Settings["Store:Path"] = Path.Combine(Folder, "readings.db");
        builder.Configuration.AddInMemoryCollection(Settings);
        builder.Logging.AddProvider(new Collector(_log)).SetMinimumLevel(LogLevel.Information);
        builder.Services.AddSingleton<TimeProvider>(Time);
        builder.Services.AddSingleton<IGatewayDirectory>(Gateways);
        // Never read: of the spots nothing is known here but their names.
        builder.Services.AddSingleton(new SpotCatalogue(null!));
        builder.Services.AddFaults().AddStore().AddIngest().AddBroker();
        builder.Services.AddSingleton<IReadingStore>(provider => new GatedStore(
            new SqliteReadingStore(provider.GetRequiredService<Microsoft.Extensions.Options.IOptions<StoreOptions>>().Value)));
        _host = builder.Build();
        var factory = _host.Services.GetRequiredService<IMeterFactory>();
        _meters.InstrumentPublished = (instrument, listener) =>
        {
            if (instrument.Meter.Scope == factory)
                listener.EnableMeasurementEvents(instrument);
        };
        _meters.SetMeasurementEventCallback<long>((instrument, value, tags, _) =>
        {
            var key = tags.Length > 0 ? (string)tags[0].Value! : instrument.Name;
            _counts.AddOrUpdate(key, value, (_, sum) => sum + value);
        });
        _meters.Start();
        await _host.StartAsync(TestContext.Current.CancellationToken);
    }

    private sealed class Collector(ConcurrentQueue<string> lines) : ILoggerProvider, ILogger
    {
        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(
            LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            lines.Enqueue($"{logLevel}: {formatter(state, exception)}");

        public void Dispose()
        {
        }
    }
}
