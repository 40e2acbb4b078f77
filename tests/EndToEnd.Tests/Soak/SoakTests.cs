using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Gateway.Tests.Publishing;

namespace PavementWatch.Gateway.Tests.Soak;

/// <summary>
/// Days in the life of the gateway's real program, many times faster than life: it is killed, its broker goes and
/// comes, refuses and forgets to acknowledge, its clock is set back and forth over restarts. At the end every reading
/// it reported to be on its disk is with the broker, with the same value.
/// </summary>
/// <remarks>Three days unless PAVEMENTWATCH_SOAK_DAYS says more (two weeks take about five minutes).</remarks>
public sealed partial class SoakTests : IDisposable
{
    private const int Speed = 5000;
    private const int Seed = 20260710;

    private static readonly string Program = Path.Combine(AppContext.BaseDirectory, "PavementWatch.Gateway.dll");

    private readonly TemporaryFolder _folder = new();
    private readonly ConcurrentDictionary<(string Spot, DateTimeOffset At), double?> _onDisk = new();
    private readonly ConcurrentQueue<string> _errors = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Whatever_happens_every_reading_on_disk_reaches_the_broker_and_no_moment_carries_two_values()
    {
        var days = int.TryParse(Environment.GetEnvironmentVariable("PAVEMENTWATCH_SOAK_DAYS"), NumberStyles.None, CultureInfo.InvariantCulture, out var set) ? set : 3;
        var random = new Random(Seed);
        await using var broker = await TestBroker.StartAsync();
        var (simulated, began) = (Some.Noon, Stopwatch.StartNew());
        var (kills, cuts, jumps) = (0, 0, 0);
        var gateway = StartGateway(broker.Port, simulated);
        try
        {
            while (began.Elapsed * Speed < TimeSpan.FromDays(days))
            {
                // Between half an hour and nine hours of the simulated time pass before the next mishap.
                await Task.Delay(TimeSpan.FromHours(0.5 + (8.5 * random.NextDouble())) / Speed, TimeProvider.System, TestContext.Current.CancellationToken);
                switch (random.Next(3))
                {
                    case 0:
                        gateway.Kill();
                        await gateway.WaitForExitAsync(TestContext.Current.CancellationToken);
                        gateway.Dispose();
                        // The machine starts anew with a clock that is right, up to 50 minutes late, or ahead.
                        var wrong = random.Next(3) == 0 ? TimeSpan.FromMinutes(random.Next(-50, 50)) : TimeSpan.Zero;
                        jumps += wrong != TimeSpan.Zero ? 1 : 0;
                        gateway = StartGateway(broker.Port, simulated + (began.Elapsed * Speed) + wrong);
                        kills++;
                        break;
                    case 1:
                        await broker.StopAsync();
                        await Task.Delay(TimeSpan.FromHours(6 * random.NextDouble()) / Speed, TimeProvider.System, TestContext.Current.CancellationToken);
                        await broker.StartAgainAsync();
                        cuts++;
                        break;
                    default:
                        // Takes the pack, but the acknowledgement is lost with the connection.
                        await broker.StopAsync();
                        await broker.StartAgainAsync();
                        cuts++;
                        break;
                }
            }
        }
        finally
        {
            if (!gateway.HasExited)
                gateway.Kill();
            await gateway.WaitForExitAsync(CancellationToken.None);
            gateway.Dispose();
        }
        await EmptyAsync(broker);

        var received = new Dictionary<(string, DateTimeOffset), double?>();
        foreach (var reading in broker.Readings)
        {
            if (!received.TryAdd((reading.Spot.Value, reading.MeasuredAt), reading.SurfaceCelsius))
                Assert.True(received[(reading.Spot.Value, reading.MeasuredAt)] == reading.SurfaceCelsius, $"two values for {reading.Spot} at {reading.MeasuredAt:O}");
        }
        TestContext.Current.TestOutputHelper?.WriteLine($"{days} days, {kills} kills, {jumps} wrong clocks, {cuts} broker losses: {_onDisk.Count} readings on disk, {received.Count} received");
        Assert.Empty(_errors);
        Assert.True(kills > 0 && cuts > 0 && _onDisk.Count > days * 24 * 2, "too little happened to tell anything");
        var missing = _onDisk.Where(kept => !received.TryGetValue(kept.Key, out var value) || value != kept.Value).ToList();
        Assert.True(missing.Count == 0, $"{missing.Count} of {_onDisk.Count} readings missing or changed, first {missing.FirstOrDefault()}");
    }

    private Process StartGateway(int port, DateTimeOffset from)
    {
        var start = new ProcessStartInfo(
            "dotnet",
            [
                Program, "run", "--simulate", "--speed", $"{Speed}", "--from", from.ToString("O", CultureInfo.InvariantCulture), "--data", _folder["data"],
                "--Publishing:BrokerHost=127.0.0.1", $"--Publishing:BrokerPort={port}", "--Publishing:FirstPause=00:00:00.02", "--Publishing:LongestPause=00:00:00.2",
                "--Sampling:Period=00:01:00", "--Sampling:Interval=00:10:00", "--Publishing:StatusEvery=1.00:00:00",
                "--Logging:LogLevel:PavementWatch.Gateway.Outbox=Debug",
            ])
        { RedirectStandardOutput = true, RedirectStandardError = true };
        var process = Process.Start(start)!;
        process.OutputDataReceived += (_, line) => Note(line.Data);
        process.ErrorDataReceived += (_, line) => Note(line.Data is { Length: > 0 } text ? "fail: " + text : null);
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        return process;
    }

    private void Note(string? line)
    {
        if (line is null)
            return;
        if (Kept().Match(line) is { Success: true } kept)
        {
            _onDisk[(kept.Groups["spot"].Value, DateTimeOffset.Parse(kept.Groups["at"].Value, CultureInfo.InvariantCulture))] =
                kept.Groups["value"].Value is { Length: > 0 } value && value != "(null)" ? double.Parse(value, CultureInfo.InvariantCulture) : null;
        }
        else if (line.StartsWith("fail:", StringComparison.Ordinal) || line.StartsWith("crit:", StringComparison.Ordinal))
        {
            _errors.Enqueue(line);
        }
    }

    /// <summary>What the last kill left in the outbox goes out through a gateway on the same file.</summary>
    private async Task EmptyAsync(TestBroker broker)
    {
        File.Copy(_folder["data/simulated-outbox.db"], _folder["outbox.db"]);
        if (File.Exists(_folder["data/simulated-outbox.db-wal"]))
            File.Copy(_folder["data/simulated-outbox.db-wal"], _folder["outbox.db-wal"]);
        await using var gateway = new TestGateway(_folder["."], broker.Port, TimeProvider.System, ("Clock:Trust", "System"));
        await gateway.StartAsync();
        for (var i = 0; gateway.Outbox.State().Waiting > 0; i++)
        {
            Assert.True(i < 1500, $"{gateway.Outbox.State().Waiting} readings still wait");
            await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, TestContext.Current.CancellationToken);
        }
        Assert.Equal(0, gateway.Outbox.State().Counts[OutboxCount.GivenUp] + gateway.Outbox.State().Counts[OutboxCount.Refused]);
    }

    [GeneratedRegex(@"on disk: (?<spot>\S+) (?<at>\S+) (?<value>\S*) °C, ")]
    private static partial Regex Kept();
}
