using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using MQTTnet;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Processes;

/// <summary>The server's program killed while a gateway sends: it is there again, has what it acknowledged, and says what took the time.</summary>
/// <remarks>How long that may take is measured, by the benchmark <c>recovery</c>.</remarks>
public sealed partial class RecoveryTests : IDisposable
{
    private const string Secret = "a long enough secret of a gate";

    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-recovery-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task Killed_under_load_it_acknowledges_again_has_all_it_acknowledged_and_says_what_took_the_time()
    {
        await FillAsync();
        ConcurrentQueue<DateTimeOffset> acknowledged = [];
        await using (var first = await ServerProcess.ServeReadyAsync(_folder))
        {
            var sending = SendUntilGoneAsync(first.BrokerPort, acknowledged);
            await Patience.UntilAsync(() => acknowledged.Count >= 50, () => $"{acknowledged.Count} packs were acknowledged:\n{first.Said}");
            await first.KillAsync();
            await sending;
        }

        var began = Stopwatch.StartNew();
        await using var second = await ServerProcess.ServeReadyAsync(_folder);
        using (var gateway = await ConnectAsync(second.BrokerPort))
            acknowledged.Enqueue(await SendAsync(gateway) ?? throw new InvalidOperationException($"the first pack was not taken:\n{second.Said}"));

        foreach (var step in new[] { "registry ready in", "readings opened in", "watch began in", "ports bound" })
        {
            await second.SaidAsync($"start: {step} ");
            var took = Took().Matches(second.Said).Single(m => m.Groups[1].Value == step);
            // Whatever the machine does, a part of the start is no longer than all of it.
            Assert.InRange(double.Parse(took.Groups[2].Value, CultureInfo.InvariantCulture), 0, began.Elapsed.TotalMilliseconds);
        }

        await second.KillAsync();
        await using var store = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(_folder, "readings.sqlite") });
        var stored = await store.RangeAsync(RunningServer.NorthGate.Id, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue.AddDays(-1), Cancel);
        Assert.Empty(acknowledged.Except(stored.Select(one => one.Reading.MeasuredAt)));
    }

    private async Task FillAsync()
    {
        await using (var app = ServerApp.Build(new ServerAppOptions { DataFolder = _folder }))
        {
            await app.Services.GetRequiredService<RegistryStart>().StartingAsync(Cancel);
            await app.Services.GetRequiredService<SpotStore>().AddSpotAsync(RunningServer.NorthGate, Cancel);
            await app.Services.GetRequiredService<GatewayStore>().SetGatewayAsync(Gate, Secret, [RunningServer.NorthGate.Id], Cancel);
        }

        SqliteConnection.ClearAllPools();
    }

    private static async Task SendUntilGoneAsync(int port, ConcurrentQueue<DateTimeOffset> acknowledged)
    {
        using var gateway = await ConnectAsync(port);
        try
        {
            while (true)
            {
                if (await SendAsync(gateway) is { } at)
                    acknowledged.Enqueue(at);
            }
        }
        catch (Exception) when (!Cancel.IsCancellationRequested)
        {
            // The server is gone.
        }
    }

    /// <returns>The reading's time; <c>null</c> when it was not taken.</returns>
    private static async Task<DateTimeOffset?> SendAsync(IMqttClient gateway)
    {
        var at = DateTimeOffset.FromUnixTimeMilliseconds(TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds());
        var answer = await gateway.PublishAsync(
            new MqttApplicationMessageBuilder().WithTopic(Topics.Readings(Gate))
                .WithPayload(ReadingPack.Write([new Reading(RunningServer.NorthGate.Id, at) { SurfaceCelsius = 41, AirCelsius = 30 }]))
                .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build(),
            Cancel);
        return answer.IsSuccess ? at : null;
    }

    private static async Task<IMqttClient> ConnectAsync(int port)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        var answer = await client.ConnectAsync(
            new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", port).WithProtocolVersion(MqttProtocolVersion.V500)
                .WithClientId(Gate.Value).WithCredentials(Gate.Value, Secret).Build(),
            Cancel);
        Assert.Equal(MqttClientConnectResultCode.Success, answer.ResultCode);
        return client;
    }

    [GeneratedRegex("start: ([a-z ]+?) ([0-9.]+) ms")]
    private static partial Regex Took();
}
