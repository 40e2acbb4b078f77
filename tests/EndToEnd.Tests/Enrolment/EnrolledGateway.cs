using System.Net;
using System.Net.Sockets;
using System.Text;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Enrolment;

/// <summary>The gateway's program in a data folder of its own, first by its verbs, then running on simulated buses.</summary>
internal sealed class EnrolledGateway : IAsyncDisposable
{
    private static readonly string[] Probes =
    [
        "--Clock:Trust=System", "--Probes:ir:Kind=Mlx90614", "--Probes:ir:Spot=north-gate-plaza", "--Probes:air:Kind=Sht3x",
        "--Outbox:KeepFreeMegabytes=0", "--Publishing:FirstPause=00:00:00.02", "--Publishing:LongestPause=00:00:00.2",
    ];

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-gateway-").FullName;
    private IHost? _host;

    public ServerSettings Settings => _host!.Services.GetRequiredService<ServerSettings>();

    /// <summary>A port nobody listens on.</summary>
    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    public bool Has(string file) => File.Exists(Path.Combine(_folder, file));

    /// <summary>Runs a verb as typed at the gateway.</summary>
    public async Task<(int Exit, string Said)> TypeAsync(string line)
    {
        StringBuilder said = new();
        await using var writer = new StringWriter(said);
        var exit = await Gateway.Commands.CommandLine.RunAsync([.. line.Split(' '), "--data", _folder], writer, writer);
        return (exit, said.ToString());
    }

    /// <summary>What <c>check</c> says; its probes are not there on this machine, the way to the server is.</summary>
    public async Task<string> CheckAsync() => (await TypeAsync($"check {string.Join(' ', Probes)}")).Said;

    /// <summary>Whether the lamp at the gate would be on.</summary>
    public bool LampIsOn(DateTimeOffset now) => LampSignal.TooHot == LampRule.Signal(
        Settings.Spots, _host!.Services.GetRequiredService<LatestReadings>(), Settings.Estimates, now, TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(3));

    /// <summary>Runs it over ground of this surface temperature.</summary>
    public async Task RunAsync(FakeTimeProvider time, double surfaceCelsius, double airCelsius = 35)
    {
        _host = GatewayHost.Build(new GatewayHostOptions
        {
            Settings = SettingsSources.Load(null, simulate: false, Probes, _folder),
            Time = time,
            World = (_, _) => new TrueValues(surfaceCelsius, airCelsius, 30, 5),
        });
        await _host.StartAsync(TestContext.Current.CancellationToken);
        await SampledAsync(0);
    }

    /// <summary>Moves the clock step by step, each after the sampling has done the one before.</summary>
    public async Task SampleAsync(FakeTimeProvider time, TimeSpan span)
    {
        for (var moved = TimeSpan.Zero; moved < span; moved += TimeSpan.FromSeconds(5))
        {
            var before = _host!.Services.GetRequiredService<OutboxFiller>().Steps;
            time.Advance(TimeSpan.FromSeconds(5));
            await SampledAsync(before);
        }
    }

    public async ValueTask DisposeAsync()
    {
        if (_host is not null)
        {
            await _host.StopAsync();
            _host.Dispose();
        }

        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    private Task SampledAsync(long before)
    {
        var filler = _host!.Services.GetRequiredService<OutboxFiller>();
        return Patience.UntilAsync(() => filler.Steps > before, () => "the sampling stands still");
    }
}
