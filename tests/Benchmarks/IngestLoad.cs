using System.Collections.Concurrent;
using System.Diagnostics;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using MQTTnet;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Benchmarks;

/// <summary>Load on the real way in: MQTT clients on loopback, embedded broker, checks, SQLite with every commit flushed.</summary>
internal static class IngestLoad
{
    public static async Task<int> RunAsync(string[] args)
    {
        var folder = Path.Combine(args.ElementAtOrDefault(0) ?? Path.GetTempPath(), "ingest-load-" + Guid.NewGuid().ToString("N"));
        var span = TimeSpan.FromSeconds(int.Parse(args.ElementAtOrDefault(1) ?? "10"));
        Console.WriteLine($"{Environment.ProcessorCount} processors, {span.TotalSeconds:F0} s each, store in {folder}");
        Console.WriteLine("gateways  readings/pack  readings/s  packs/s  acknowledged after ms (median, 95 %, 99 %)");
        foreach (var (gateways, perPack) in new[] { (1, 1), (50, 1), (500, 1), (50, 40), (10, 1000) })
        {
            await MeasureAsync(Path.Combine(folder, $"{gateways}-{perPack}"), gateways, perPack, span);
            GC.Collect();
        }

        Directory.Delete(folder, recursive: true);
        return 0;
    }

    private static async Task MeasureAsync(string folder, int gateways, int perPack, TimeSpan span)
    {
        using var host = HostIn(folder);
        await host.StartAsync();
        var port = host.Services.GetRequiredService<IBroker>().Port;
        var clients = new List<IMqttClient>();
        for (var i = 0; i < gateways; i++)
            clients.Add(await ConnectAsync(port, $"gate-{i}"));

        var milliseconds = new ConcurrentBag<double>();
        using var stop = new CancellationTokenSource(span);
        var watch = Stopwatch.StartNew();
        var counts = await Task.WhenAll(clients.Select((client, i) => Task.Run(() => SendAsync(client, $"gate-{i}", perPack, milliseconds, stop.Token))));
        var seconds = watch.Elapsed.TotalSeconds;

        var sorted = milliseconds.Order().ToArray();
        Console.WriteLine(
            $"{gateways,8}  {perPack,13}  {counts.Sum() * perPack / seconds,10:F0}  {counts.Sum() / seconds,7:F0}  "
            + $"{At(sorted, 0.5):F1}  {At(sorted, 0.95):F1}  {At(sorted, 0.99):F1}");
        foreach (var client in clients)
            client.Dispose();
        await host.StopAsync();
    }

    private static async Task<long> SendAsync(
        IMqttClient client, string gateway, int perPack, ConcurrentBag<double> milliseconds, CancellationToken stop)
    {
        var at = new DateTimeOffset(2026, 1, 1, 0, 0, 0, TimeSpan.Zero);
        long packs = 0;
        while (!stop.IsCancellationRequested)
        {
            var readings = Enumerable.Range(0, perPack).Select(i => new Reading(SpotId.Parse(gateway), at.AddSeconds(i))
            {
                SurfaceCelsius = 30 + i % 300 / 10.0,
                AirCelsius = 25 + i % 70 / 10.0,
                HumidityPercent = 41.5,
            }).ToList();
            at = at.AddSeconds(perPack);
            var message = new MqttApplicationMessageBuilder().WithTopic(Topics.Readings(GatewayId.Parse(gateway)))
                .WithPayload(ReadingPack.Write(readings)).WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
            var start = Stopwatch.GetTimestamp();
            var answer = await client.PublishAsync(message, CancellationToken.None);
            if (answer.ReasonCode != MqttClientPublishReasonCode.Success)
                throw new InvalidOperationException($"{answer.ReasonCode}: {answer.ReasonString}");
            milliseconds.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
            packs++;
        }

        return packs;
    }

    internal static IHost HostIn(string folder)
    {
        var builder = Host.CreateEmptyApplicationBuilder(null);
        builder.Configuration.AddInMemoryCollection(
            [new("Store:Path", Path.Combine(folder, "readings.db")), new("Broker:Port", "0"), new("Broker:MaxMessagesPerSecond", "100000")]);
        builder.Services.AddSingleton<IGatewayDirectory, EveryGateway>();
        // Never read: of the spots nothing is known here but their names.
        builder.Services.AddSingleton(new SpotCatalogue(null!));
        builder.Services.AddFaults().AddStore().AddIngest().AddBroker();
        return builder.Build();
    }

    private static async Task<IMqttClient> ConnectAsync(int port, string gateway)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithClientId(gateway)
            .WithProtocolVersion(MQTTnet.Formatter.MqttProtocolVersion.V500).WithCredentials(gateway, "any").Build());
        return client;
    }

    private static double At(double[] sorted, double share) => sorted.Length == 0 ? double.NaN : sorted[(int)((sorted.Length - 1) * share)];

    private sealed class EveryGateway : IGatewayDirectory
    {
        public ValueTask<bool> MaySignInAsync(string user, string password, CancellationToken cancellationToken) => ValueTask.FromResult(true);

        public ValueTask<bool> IsKnownGoodAsync(string user, string password, CancellationToken cancellationToken) => ValueTask.FromResult(true);

        public ValueTask<bool> KnowsSpotAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) => ValueTask.FromResult(true);

        public ValueTask<DateTimeOffset?> MeasuredUntilAsync(GatewayId gateway, SpotId spot, CancellationToken cancellationToken) =>
            ValueTask.FromResult<DateTimeOffset?>(null);

        public ValueTask<GatewayId?> GatewayOfAsync(SpotId spot, CancellationToken cancellationToken) => ValueTask.FromResult<GatewayId?>(null);
    }
}
