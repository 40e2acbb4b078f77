using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>Processor and memory of the built gateway program with ten spots in real time, publishing to the embedded broker.</summary>
internal static class GatewayLoad
{
    private const int Spots = 10;
    private static readonly TimeSpan WarmUp = TimeSpan.FromSeconds(15);

    public static async Task<int> RunAsync(string[] args)
    {
        var span = TimeSpan.FromSeconds(int.Parse(args.ElementAtOrDefault(0) ?? "120", CultureInfo.InvariantCulture));
        // The gateway's own output: the copy beside this program would run on this program's packages.
        var program = Path.GetFullPath(AppContext.BaseDirectory.Replace(
            Path.Combine("tests", "Benchmarks"), "gateway", StringComparison.Ordinal) + "PavementWatch.Gateway.dll");
        var folder = Directory.CreateTempSubdirectory("pavementwatch-gateway-load-").FullName;
        try
        {
            using var host = IngestLoad.HostIn(folder);
            await host.StartAsync();
            var port = host.Services.GetRequiredService<IBroker>().Port;
            var settings = Path.Combine(folder, "gateway.json");
            await File.WriteAllTextAsync(settings, Settings(port));
            using var gateway = Process.Start(new ProcessStartInfo(
                "dotnet", [program, "run", "--simulate", "--settings", settings, "--data", Path.Combine(folder, "data")])
            {
                RedirectStandardOutput = true,
            })!;
            gateway.OutputDataReceived += (_, _) => { };
            gateway.BeginOutputReadLine();
            try
            {
                await Task.Delay(WarmUp);
                gateway.Refresh();
                var (processorBefore, began) = (gateway.TotalProcessorTime, Stopwatch.GetTimestamp());
                long most = 0;
                while (Stopwatch.GetElapsedTime(began) < span)
                {
                    await Task.Delay(TimeSpan.FromSeconds(1));
                    gateway.Refresh();
                    most = Math.Max(most, gateway.WorkingSet64);
                }

                var used = gateway.TotalProcessorTime - processorBefore;
                var stored = await host.Services.GetRequiredService<IReadingStore>().LatestAsync(CancellationToken.None);
                Console.WriteLine($"{Spots} spots, each sampled every 5 s and sent every minute, {span.TotalSeconds:F0} s after {WarmUp.TotalSeconds:F0} s:");
                Console.WriteLine($"  processor   {100 * used / Stopwatch.GetElapsedTime(began):F2} % of one core");
                Console.WriteLine($"  memory      {most / 1e6:F0} MB resident at most");
                Console.WriteLine($"  arrived     readings of {stored.Count} spots");
                // A simulated gateway brings two spots of its own.
                return stored.Count >= Spots ? 0 : 1;
            }
            finally
            {
                gateway.Kill(entireProcessTree: true);
                await gateway.WaitForExitAsync();
                await host.StopAsync();
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static string Settings(int port)
    {
        var spots = new Dictionary<string, object>();
        var probes = new Dictionary<string, object> { ["air"] = new { Kind = "Sht3x" } };
        for (var i = 0; i < Spots; i++)
        {
            spots[$"spot-{i}"] = new { Surface = "asphalt" };
            probes[$"ground-{i}"] = new { Kind = "Mlx90614", Address = $"0x{0x50 + i:X2}", Spot = $"spot-{i}" };
        }

        return JsonSerializer.Serialize(new
        {
            Gateway = new { Id = "load" },
            Clock = new { Trust = "System" },
            Publishing = new { BrokerHost = "127.0.0.1", BrokerPort = port, Tls = false, Password = "any" },
            Spots = spots,
            Probes = probes,
        });
    }
}
