using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>The server's program under load, killed again and again: how long until it takes readings again, and what takes the time.</summary>
internal static class Recovery
{
    private static readonly TimeSpan Promised = TimeSpan.FromSeconds(10);

    private static readonly TimeSpan Load = TimeSpan.FromSeconds(8);

    // As a gateway's shortest pause between attempts.
    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(1);

    public static async Task<int> RunAsync(string[] args)
    {
        var kills = int.Parse(args.ElementAtOrDefault(0) ?? "10", CultureInfo.InvariantCulture);
        var gateways = int.Parse(args.ElementAtOrDefault(1) ?? "30", CultureInfo.InvariantCulture);
        var folder = Directory.CreateTempSubdirectory("pavementwatch-recovery-").FullName;
        try
        {
            await FillAsync(folder, gateways);
            return await MeasureAsync(folder, kills, gateways);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>A spot for each gateway, with three days of minute readings: what the watch looks back on.</summary>
    private static async Task FillAsync(string folder, int gateways)
    {
        await using (var app = ServerApp.Build(new ServerAppOptions { DataFolder = folder }))
        {
            await app.Services.GetRequiredService<RegistryStart>().StartingAsync(CancellationToken.None);
            var spots = app.Services.GetRequiredService<SpotStore>();
            var gates = app.Services.GetRequiredService<GatewayStore>();
            var store = app.Services.GetRequiredService<IReadingStore>();
            var now = TimeProvider.System.GetUtcNow();
            for (var i = 0; i < gateways; i++)
            {
                var spot = new Spot(SpotId.Parse($"spot-{i}"), $"Spot {i}", SurfaceKind.Asphalt, 37.4, -97, "America/Chicago");
                await spots.AddSpotAsync(spot, CancellationToken.None);
                await gates.SetGatewayAsync(GatewayId.Parse($"gate-{i}"), Secret(i), [spot.Id], CancellationToken.None);
                await store.AppendAsync(
                    [.. Enumerable.Range(1, 3 * 24 * 60).Select(minute => new StoredReading(
                        new Reading(spot.Id, now.AddMinutes(-minute)) { SurfaceCelsius = 40, AirCelsius = 30, HumidityPercent = 40 }, now))],
                    CancellationToken.None);
            }
        }

        SqliteConnection.ClearAllPools();
    }

    private static async Task<int> MeasureAsync(string folder, int kills, int gateways)
    {
        var (port, pages) = (FreePort(), FreePort());
        var town = new Town(port, gateways);
        using var stop = new CancellationTokenSource();
        var server = Start(folder, port, pages, []);
        var senders = Enumerable.Range(0, gateways).Select(i => Task.Run(() => town.SendAsync(i, stop.Token))).ToArray();
        await town.AllHeardAsync(Stopwatch.GetTimestamp());
        Console.WriteLine($"{Environment.ProcessorCount} processors, {gateways} gateways sending without pause, three days of readings for each");
        Console.WriteLine("kill  pages s  first pack s  every gateway s   what took the server's time");
        var longest = 0.0;
        for (var kill = 1; kill <= kills; kill++)
        {
            await Task.Delay(Load);
            server.Kill();
            await server.WaitForExitAsync();
            server.Dispose();
            var killed = Stopwatch.GetTimestamp();
            var said = new ConcurrentQueue<string>();
            server = Start(folder, port, pages, said);
            var answers = PagesAnswerAsync(pages, killed);
            var (first, all) = await town.AllHeardAsync(killed);
            longest = Math.Max(longest, Math.Max(all, await answers));
            while (!said.Any(line => line.Contains("watch began", StringComparison.Ordinal)) && Stopwatch.GetElapsedTime(killed).TotalSeconds < 60)
                await Task.Delay(50);
            Console.WriteLine(
                $"{kill,4}  {await answers,7:F1}  {first,12:F1}  {all,15:F1}   "
                + string.Join("; ", said.Where(line => line.Contains(" ms", StringComparison.Ordinal) && line.Contains("start: ", StringComparison.Ordinal))
                    .Select(line => line[(line.IndexOf("start: ", StringComparison.Ordinal) + 7)..].Trim())));
        }

        await stop.CancelAsync();
        await Task.WhenAll(senders);
        server.Kill();
        await server.WaitForExitAsync();
        server.Dispose();
        var lost = await LostAsync(folder, town.Acknowledged);
        Console.WriteLine($"longest {longest:F1} s, promised {Promised.TotalSeconds:F0} s; {town.Acknowledged.Count} acknowledged, {lost} lost");
        return lost == 0 && longest <= Promised.TotalSeconds ? 0 : 1;
    }

    private static async Task<int> LostAsync(string folder, IEnumerable<(string Spot, long At)> acknowledged)
    {
        await using var store = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(folder, "readings.sqlite") });
        var lost = 0;
        foreach (var spot in acknowledged.GroupBy(one => one.Spot))
        {
            var stored = await store.RangeAsync(SpotId.Parse(spot.Key), DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue.AddDays(-1), CancellationToken.None);
            var times = stored.Select(s => s.Reading.MeasuredAt.ToUnixTimeMilliseconds()).ToHashSet();
            lost += spot.Count(one => !times.Contains(one.At));
        }

        SqliteConnection.ClearAllPools();
        return lost;
    }

    private static async Task<double> PagesAnswerAsync(int pages, long since)
    {
        using var browser = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{pages}") };
        while (true)
        {
            try
            {
                using var answer = await browser.GetAsync(new Uri("/health/live", UriKind.Relative));
                if (answer.IsSuccessStatusCode)
                    return Stopwatch.GetElapsedTime(since).TotalSeconds;
            }
            catch (HttpRequestException)
            {
                // Not yet.
            }

            await Task.Delay(50);
        }
    }

    private static Process Start(string folder, int port, int pages, ConcurrentQueue<string> said)
    {
        // The server's own output: the copy beside this program would run on this program's packages.
        var program = Path.GetFullPath(AppContext.BaseDirectory.Replace(
            Path.Combine("tests", "Benchmarks"), "server", StringComparison.Ordinal) + "PavementWatch.Server.dll");
        var process = Process.Start(new ProcessStartInfo(
            "dotnet",
            [program, "serve", $"--Data:Folder={folder}", $"--Urls=http://127.0.0.1:{pages}", $"--Broker:Port={port}",
                "--Broker:MaxConnectionsPerAddress=1000", "--Broker:MaxConnections=1000",
                "--Logging:Console:FormatterName=simple", "--Logging:Console:FormatterOptions:SingleLine=true"])
        {
            RedirectStandardOutput = true,
        })!;
        process.OutputDataReceived += (_, line) => said.Enqueue(line.Data ?? "");
        process.BeginOutputReadLine();
        return process;
    }

    private static int FreePort()
    {
        using var listener = new System.Net.Sockets.TcpListener(System.Net.IPAddress.Loopback, 0);
        listener.Start();
        return ((System.Net.IPEndPoint)listener.LocalEndpoint).Port;
    }

    private static string Secret(int i) => $"a long enough secret of gate {i}";

    /// <summary>Gateways that send one pack after the other and begin again when their server is gone.</summary>
    private sealed class Town(int port, int gateways)
    {
        private readonly long[] _lastHeard = new long[gateways];

        public ConcurrentBag<(string Spot, long At)> Acknowledged { get; } = [];

        /// <summary>Seconds until the first gateway was heard again, and until all were.</summary>
        public async Task<(double First, double All)> AllHeardAsync(long since)
        {
            double? first = null;
            while (true)
            {
                var heard = Enumerable.Range(0, gateways).Count(i => Interlocked.Read(ref _lastHeard[i]) > since);
                if (heard > 0)
                    first ??= Stopwatch.GetElapsedTime(since).TotalSeconds;
                if (heard == gateways)
                    return (first!.Value, Stopwatch.GetElapsedTime(since).TotalSeconds);
                await Task.Delay(20);
            }
        }

        public async Task SendAsync(int i, CancellationToken stop)
        {
            var (gateway, spot) = (GatewayId.Parse($"gate-{i}"), SpotId.Parse($"spot-{i}"));
            while (!stop.IsCancellationRequested)
            {
                using var client = new MqttClientFactory().CreateMqttClient();
                try
                {
                    await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId(gateway.Value)
                        .WithProtocolVersion(MQTTnet.Formatter.MqttProtocolVersion.V500).WithCredentials(gateway.Value, Secret(i)).Build(), stop);
                    while (!stop.IsCancellationRequested)
                        await SendOneAsync(client, gateway, spot, i);
                }
                catch (Exception failure) when (failure is not OutOfMemoryException)
                {
                    await Task.Delay(Pause, stop).ContinueWith(_ => { }, TaskScheduler.Default);
                }
            }
        }

        private async Task SendOneAsync(IMqttClient client, GatewayId gateway, SpotId spot, int i)
        {
            var at = DateTimeOffset.FromUnixTimeMilliseconds(TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds());
            var message = new MqttApplicationMessageBuilder().WithTopic(Topics.Readings(gateway))
                .WithPayload(ReadingPack.Write([new Reading(spot, at) { SurfaceCelsius = 41, AirCelsius = 30, HumidityPercent = 40 }]))
                .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
            if ((await client.PublishAsync(message, CancellationToken.None)).ReasonCode != MqttClientPublishReasonCode.Success)
                return;
            Acknowledged.Add((spot.Value, at.ToUnixTimeMilliseconds()));
            Interlocked.Exchange(ref _lastHeard[i], Stopwatch.GetTimestamp());
            // A hundred readings a second of each gateway is load enough.
            await Task.Delay(10);
        }
    }
}
