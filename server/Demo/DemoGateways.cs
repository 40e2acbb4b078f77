using System.Globalization;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Server.Demo;

/// <summary>The town's gateways: the real gateway program, each with its own outbox, on simulated buses and behind a wire that can be cut.</summary>
internal sealed class DemoGateways : IAsyncDisposable
{
    private readonly TimeProvider _time;
    private readonly CancellationTokenSource _stop = new();
    private readonly Dictionary<string, DemoRelay> _wires = [];
    private readonly List<IHost> _hosts = [];
    private Task _cutting = Task.CompletedTask;

    private DemoGateways(TimeProvider time) => _time = time;

    public static async Task<DemoGateways> StartAsync(
        DemoDay day, DemoGround ground, int brokerPort, string folder, IReadOnlyDictionary<string, string> secrets,
        TimeProvider time, Action<string> say, CancellationToken cancellationToken)
    {
        var gateways = new DemoGateways(time);
        foreach (var (gateway, secret) in secrets)
        {
            var wire = new DemoRelay(brokerPort);
            gateways._wires.Add(gateway, wire);
            var host = GatewayHost.Build(new GatewayHostOptions
            {
                Settings = new ConfigurationBuilder()
                    .AddInMemoryCollection(Settings(gateway, secret, wire.Port, Path.Combine(folder, gateway)))
                    .Build(),
                Time = time,
                World = (spot, at) => Truth(day, ground, spot, at),
            });
            gateways._hosts.Add(host);
            await host.StartAsync(cancellationToken);
        }

        gateways._cutting = gateways.CutAndMendAsync(day, say, gateways._stop.Token);
        return gateways;
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _cutting;
        await Task.WhenAll(_hosts.Select(host => host.StopAsync()));
        foreach (var host in _hosts)
            host.Dispose();
        foreach (var wire in _wires.Values)
            await wire.DisposeAsync();
        _stop.Dispose();
    }

    private static TrueValues Truth(DemoDay day, DemoGround ground, SpotId spot, DateTimeOffset at)
    {
        var sky = day.At(at);
        return new TrueValues(ground.SurfaceCelsius(spot, at), sky.AirCelsius, sky.HumidityPercent) { CloudFraction = sky.CloudFraction };
    }

    private static Dictionary<string, string?> Settings(string gateway, string secret, int port, string folder)
    {
        Directory.CreateDirectory(folder);
        var settings = new Dictionary<string, string?>
        {
            ["Gateway:Id"] = gateway,
            ["Clock:Trust"] = "System",
            ["Outbox:Path"] = Path.Combine(folder, "outbox.sqlite"),
            ["Publishing:BrokerHost"] = "127.0.0.1",
            ["Publishing:BrokerPort"] = port.ToString(CultureInfo.InvariantCulture),
            ["Publishing:Tls"] = "false",
            ["Publishing:Password"] = secret,
            // The network's pauses are physical time, so they must be short beside a day of two and a half minutes.
            ["Publishing:FirstPause"] = "00:00:00.1",
            ["Publishing:LongestPause"] = "00:00:00.5",
            ["Probes:air:Kind"] = "Sht3x",
        };
        var address = 0x5A;
        foreach (var spot in DemoTown.Spots.Where(spot => spot.Gateway == gateway).Select(spot => spot.Spot))
        {
            settings[$"Spots:{spot.Id}:Surface"] = SurfaceKinds.Slug(spot.Surface);
            settings[$"Probes:{spot.Id}-ground:Kind"] = "Mlx90614";
            settings[$"Probes:{spot.Id}-ground:Spot"] = spot.Id.Value;
            settings[$"Probes:{spot.Id}-ground:Address"] = $"0x{address++:X2}";
        }

        return settings;
    }

    private async Task CutAndMendAsync(DemoDay day, Action<string> say, CancellationToken cancellationToken)
    {
        var wire = _wires[DemoTown.GatewayThatGoesSilent];
        try
        {
            await UntilAsync(day.SilentFrom, cancellationToken);
            wire.Cut();
            say($"gateway {DemoTown.GatewayThatGoesSilent} loses its network; its readings wait in its outbox");
            await UntilAsync(day.SilentTo, cancellationToken);
            wire.Mend();
            say($"gateway {DemoTown.GatewayThatGoesSilent} has its network back and delivers what waited");
        }
        catch (OperationCanceledException)
        {
            // The demo is over.
        }
    }

    private Task UntilAsync(DateTimeOffset moment, CancellationToken cancellationToken)
    {
        var wait = moment - _time.GetUtcNow();
        return wait > TimeSpan.Zero ? Task.Delay(wait, _time, cancellationToken) : Task.CompletedTask;
    }
}
