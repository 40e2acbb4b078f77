using MQTTnet;
using PavementWatch.Server.Tests.Store;

namespace PavementWatch.Server.Tests.Broker;

/// <summary>Debian's mosquitto on a free loopback port, as a child process.</summary>
internal sealed class Mosquitto : IAsyncDisposable
{
    private readonly ChildProcess _process;
    private readonly string _settings;
    private readonly int _port;

    private Mosquitto(ChildProcess process, string settings, int port) => (_process, _settings, _port) = (process, settings, port);

    public static async Task<Mosquitto> StartAsync(int? port = null)
    {
        var program = ChildProcess.Require("mosquitto", "/usr/sbin/mosquitto", "/usr/bin/mosquitto", "/usr/local/sbin/mosquitto");
        var own = port ?? ChildProcess.FreePort();
        var settings = Path.GetTempFileName();
        await File.WriteAllTextAsync(
            settings, $"listener {own} 127.0.0.1\nallow_anonymous true\npersistence false\n", TestContext.Current.CancellationToken);
        return new Mosquitto(
            await ChildProcess.StartAsync(program, ["-c", settings], own, TestContext.Current.CancellationToken), settings, own);
    }

    public void Configure(BrokerHost host)
    {
        host.Settings["Broker:Kind"] = "external";
        host.Settings["Broker:External:Host"] = "127.0.0.1";
        host.Settings["Broker:External:Port"] = _port.ToString();
        host.Settings["Broker:External:Tls"] = "false";
    }

    /// <summary>Connects as the gateway North Gate.</summary>
    public async Task<IMqttClient> ConnectAsync(BrokerHost host)
    {
        var client = host.Client();
        await client.ConnectAsync(BrokerHost.OptionsFor(BrokerHost.NorthGate, _port).Build(), TestContext.Current.CancellationToken);
        return client;
    }

    public async ValueTask DisposeAsync()
    {
        await _process.DisposeAsync();
        File.Delete(_settings);
    }
}
