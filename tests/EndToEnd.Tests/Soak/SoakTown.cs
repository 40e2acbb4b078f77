using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using Microsoft.Data.Sqlite;
using PavementWatch.Core.Readings;
using PavementWatch.EndToEnd.Tests.Enrolment;
using PavementWatch.Server.Demo;
using PavementWatch.Server.Store;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>The server's program with broker and store, the gateway's on a small disk, and the network between them, over TLS.</summary>
internal sealed class SoakTown : IAsyncDisposable
{
    /// <summary>How much faster than life the gateway lives.</summary>
    public const int Speed = 5000;

    /// <summary>Noon of a day so long ago that all of it is over: the server's own clock is the real one, and takes nothing from the future.</summary>
    public DateTimeOffset Begin { get; }

    public static readonly SpotId[] Spots = [SpotId.Parse("simulated-plaza"), SpotId.Parse("simulated-lawn")];

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-soak-").FullName;
    private readonly int _port = EnrolledGateway.FreePort();
    private readonly int _pages = EnrolledGateway.FreePort();
    private readonly Stopwatch _elapsed = new();
    private readonly DemoRelay _network;
    private SoakProcess? _server;
    private SoakProcess? _gateway;
    private string _password = "";
    private bool _isYearsAhead;

    public SoakTown(int days)
    {
        _network = new DemoRelay(_port);
        Begin = new DateTimeOffset(TimeProvider.System.GetUtcNow().UtcDateTime.Date.AddDays(-days - 7.5), TimeSpan.Zero);
    }

    public Journal Journal { get; } = new();

    public SmallDisk Disk { get; } = SmallDisk.Mount(Directory.CreateTempSubdirectory("pw-small-disk-").FullName, kilobytes: 16_384);

    /// <summary>What the server called an error.</summary>
    public ConcurrentQueue<string> ServerErrors { get; } = new();

    /// <summary>What the server kept out, as it said.</summary>
    public ConcurrentQueue<string> KeptOut { get; } = new();

    /// <summary>Every line either program printed.</summary>
    public ConcurrentQueue<string> Said { get; } = new();

    /// <summary>The simulated time since the beginning.</summary>
    public TimeSpan Passed => _elapsed.Elapsed * Speed;

    private string Data => $"--Data:Folder={Path.Combine(_folder, "server")}";

    private string Authority => Path.Combine(_folder, "server", "tls", "authority.pem");

    private string OutboxFile => Path.Combine(Disk.Folder, "simulated-outbox.db");

    public async Task StartAsync()
    {
        foreach (var (spot, surface) in Spots.Zip(["asphalt", "grass"]))
            await OperatorAsync($"spot add {spot} --name {spot} --surface {surface} --latitude 37.4 --longitude -97 --time-zone America/Chicago");
        var said = await OperatorAsync($"gateway add simulated --spots {string.Join(',', Spots)}");
        _password = said.Split('\n').Single(line => line.StartsWith("password", StringComparison.Ordinal))[8..].Trim();
        StartServer();
        for (var began = Stopwatch.StartNew(); !File.Exists(Authority);)
        {
            Assert.True(began.Elapsed < TimeSpan.FromSeconds(60) && !_server!.HasExited, $"the server does not start: {string.Join('\n', ServerErrors)}");
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        _elapsed.Start();
        StartGateway(TimeSpan.Zero);
    }

    /// <summary>Lets a mishap happen, or end.</summary>
    public async Task HappenAsync(Mishap mishap)
    {
        switch (mishap.Kind)
        {
            case MishapKind.KillGateway or MishapKind.KillGatewayWrongClock:
                await KillGatewayAsync();
                StartGateway(mishap.ClockBy);
                break;
            case MishapKind.KillServer:
                await _server!.DisposeAsync();
                StartServer();
                break;
            case MishapKind.NoNetwork when !mishap.Ends:
                _network.Cut();
                break;
            case MishapKind.AnswersLost when !mishap.Ends:
                _network.LoseAnswers();
                break;
            case MishapKind.NoNetwork or MishapKind.AnswersLost:
                _network.Cut();
                _network.Mend();
                break;
            case MishapKind.DiskFull when mishap.Ends:
                Disk.Free();
                break;
            case MishapKind.DiskFull:
                Disk.Fill();
                break;
            case MishapKind.BusNoise:
                _gateway!.Type(string.Create(CultureInfo.InvariantCulture, $"bus {mishap.Share:F2}"));
                break;
            case MishapKind.ClockStep:
                _gateway!.Type($"clock {mishap.ClockBy:c}");
                break;
            case MishapKind.ClockYearsAhead when _isYearsAhead == mishap.Ends:
                _gateway!.Type($"clock {mishap.ClockBy:c}");
                _isYearsAhead = !mishap.Ends;
                break;
        }
    }

    /// <summary>Everything is mended, the gateway killed, and its real program without probes sends what its outbox still holds.</summary>
    public async Task DrainAsync()
    {
        Disk.Free();
        _network.Cut();
        _network.Mend();
        await KillGatewayAsync();
        var settings = Path.Combine(_folder, "drain.json");
        await File.WriteAllTextAsync(settings, "{}", TestContext.Current.CancellationToken);
        await using var gateway = SoakProcess.Start(
            "gateway", "PavementWatch.Gateway.dll",
            ["run", "--settings", settings, "--data", Disk.Folder, "--Gateway:Id=simulated", $"--Outbox:Path={OutboxFile}", .. Publishing()], GatewaySays);
        var began = Stopwatch.StartNew();
        while (Number("SELECT count(*) FROM reading WHERE id NOT IN (SELECT id FROM put_off)") is > 0 and var waiting)
        {
            Assert.True(began.Elapsed < TimeSpan.FromSeconds(60) && !gateway.HasExited, $"{waiting} readings still wait: {string.Join('\n', Journal.Errors)}");
            await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        await gateway.KillAsync();
        await _server!.KillAsync();
    }

    /// <summary>Everything in the server's store.</summary>
    public async Task<List<Reading>> StoredAsync()
    {
        await using var store = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(_folder, "server", "readings.sqlite") });
        List<Reading> stored = [];
        foreach (var spot in Spots)
        {
            var rows = await store.RangeAsync(spot, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue.AddDays(-1), TestContext.Current.CancellationToken);
            stored.AddRange(rows.Select(row => row.Reading));
        }

        return stored;
    }

    /// <summary>Spot and milliseconds of what the gateway keeps, for the server's clock and its date are too far apart.</summary>
    public HashSet<(SpotId, long)> KeptAtGateway()
    {
        using var file = OpenOutbox();
        using var command = file.CreateCommand();
        command.CommandText = "SELECT spot.name, measured_ms FROM reading JOIN spot ON spot.id = reading.spot JOIN put_off ON put_off.id = reading.id";
        using var rows = command.ExecuteReader();
        var kept = new HashSet<(SpotId, long)>();
        while (rows.Read())
            kept.Add((SpotId.Parse(rows.GetString(0)), rows.GetInt64(1)));
        return kept;
    }

    /// <summary>What the gateway counted, by name.</summary>
    public Dictionary<string, long> Counted()
    {
        using var file = OpenOutbox();
        using var command = file.CreateCommand();
        command.CommandText = "SELECT name, value FROM count";
        using var rows = command.ExecuteReader();
        var counted = new Dictionary<string, long>();
        while (rows.Read())
            counted.Add(rows.GetString(0), rows.GetInt64(1));
        return counted;
    }

    public async ValueTask DisposeAsync()
    {
        if (_gateway is not null)
            await _gateway.DisposeAsync();
        if (_server is not null)
            await _server.DisposeAsync();
        await _network.DisposeAsync();
        SqliteConnection.ClearAllPools();
        Disk.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private async Task<string> OperatorAsync(string line)
    {
        await using StringWriter output = new(), error = new();
        var code = await Server.Commands.CommandLine.RunAsync([.. line.Split(' '), Data], output, error);
        Assert.True(code == 0, $"{line}: {error}");
        return output.ToString();
    }

    private void StartServer() => _server = SoakProcess.Start(
        "server", "PavementWatch.Server.dll",
        [
            "serve", Data, $"--Urls=http://127.0.0.1:{_pages}", "--Broker:Address=", "--Broker:Tls:Own=true", "--Broker:Tls:HostNames=127.0.0.1",
            "--Broker:Tls:Address=127.0.0.1", $"--Broker:Tls:Port={_port}", "--Logging:Console:FormatterName=simple", "--Logging:Console:FormatterOptions:SingleLine=true",
        ],
        line =>
        {
            Said.Enqueue($"{Passed:c} server {line}");
            if (line.StartsWith("fail:", StringComparison.Ordinal) || line.StartsWith("crit:", StringComparison.Ordinal))
                ServerErrors.Enqueue(line);
            else if (line.Contains("kept out", StringComparison.Ordinal))
                KeptOut.Enqueue(line);
        });

    private void GatewaySays(string line)
    {
        Said.Enqueue($"{Passed:c} gateway {line}");
        Journal.Note(line);
    }

    private void StartGateway(TimeSpan clockBy)
    {
        _isYearsAhead = false;
        _gateway = SoakProcess.Start(
            "gateway", "PavementWatch.Gateway.dll",
            [
                "run", "--simulate", "--mishaps", "--speed", $"{Speed}", "--from", (Begin + Passed + clockBy).ToString("O", CultureInfo.InvariantCulture), "--data", Disk.Folder,
                "--Sampling:Period=00:01:00", "--Sampling:Interval=00:10:00", "--Publishing:StatusEvery=1.00:00:00",
                "--Logging:LogLevel:PavementWatch.Gateway.Outbox=Debug", .. Publishing(),
            ],
            GatewaySays);
    }

    private string[] Publishing() =>
    [
        "--Publishing:BrokerHost=127.0.0.1", $"--Publishing:BrokerPort={_network.Port}", $"--Publishing:Password={_password}", "--Publishing:Tls=true",
        $"--Publishing:AuthorityFile={Authority}", "--Publishing:FirstPause=00:00:00.02", "--Publishing:LongestPause=00:00:00.2", "--Publishing:AnswerTimeout=00:00:01",
        "--Clock:Trust=System", "--Outbox:KeepFreeMegabytes=0",
    ];

    private async Task KillGatewayAsync()
    {
        Assert.False(_gateway!.HasExited, $"the gateway ended by itself: {string.Join('\n', Journal.Errors)}");
        await _gateway.DisposeAsync();
        Journal.Killed();
    }

    private SqliteConnection OpenOutbox()
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = OutboxFile, Pooling = false }.ToString());
        connection.Open();
        return connection;
    }

    private long Number(string sql)
    {
        using var file = OpenOutbox();
        using var command = file.CreateCommand();
#pragma warning disable CA2100 // Written in this file.
        command.CommandText = sql;
#pragma warning restore CA2100
        return Convert.ToInt64(command.ExecuteScalar(), CultureInfo.InvariantCulture);
    }
}
