using System.Collections.Concurrent;
using System.Data.Common;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text.Json;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.EndToEnd.Tests.Enrolment;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Server.Demo;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>The server's program with broker and store and the gateway's, each on a small disk, the network between them, over TLS, and a walker's phone and browser.</summary>
internal sealed class SoakTown : IAsyncDisposable
{
    /// <summary>How much faster than life both programs live: a reading is current for six seconds of ours.</summary>
    public const int Speed = 300;

    /// <summary>How often a spot is read.</summary>
    public static readonly TimeSpan Interval = TimeSpan.FromMinutes(5);

    private const int SilentIntervals = 6;

    /// <summary>For a reading that is dated further ahead than this nobody waits.</summary>
    private static readonly TimeSpan YearsAway = TimeSpan.FromDays(2);

    /// <summary>A morning so long ago that the span is over: certificates are judged by the real time.</summary>
    public DateTimeOffset Begin { get; }

    /// <summary>The spots and their limits; the simulated day passes each of them on its way up and on its way down.</summary>
    public static readonly (SpotId Spot, string Surface, double LimitCelsius)[] Limits =
    [
        (SpotId.Parse("simulated-plaza"), "asphalt", 49),
        (SpotId.Parse("simulated-lawn"), "grass", 33),
        (SpotId.Parse("simulated-yard"), "asphalt", 35),
        (SpotId.Parse("simulated-ramp"), "asphalt", 40),
        (SpotId.Parse("simulated-path"), "asphalt", 45),
        (SpotId.Parse("simulated-roof"), "asphalt", 51),
    ];

    public static readonly SpotId[] Spots = [.. Limits.Select(limit => limit.Spot)];

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-soak-").FullName;
    private readonly int _port = EnrolledGateway.FreePort();
    private readonly int _pages = EnrolledGateway.FreePort();
    private readonly Stopwatch _elapsed = new();
    private readonly DemoRelay _network;
    private SoakProcess? _server;
    private SoakProcess? _gateway;
    private readonly List<(TimeSpan From, TimeSpan To)> _disturbed = [];
    private List<WrittenMessage> _messages = [];
    private readonly CancellationTokenSource _stop = new();
    private readonly PageWatch _pageWatch;
    private Task _looking = Task.CompletedTask;
    private DateTimeOffset _began;
    private TimeSpan _serverAhead;
    private TimeSpan? _pushTroubleSince;
    private (string Folder, TimeSpan At)? _backup;
    private readonly List<(TimeSpan From, TimeSpan To)> _rewound = [];
    private TimeSpan _serverDiskFullUntil;
    private readonly List<DateTimeOffset> _restoredAt = [];
    private readonly List<(TimeSpan From, TimeSpan Ahead)> _serverClock = [(TimeSpan.Zero, TimeSpan.Zero)];
    private readonly SemaphoreSlim _restoring = new(1);
    private volatile string _enter = "";
    private string _password = "";
    private bool _isYearsAhead;
    private readonly bool _tellsBusiness;

    /// <param name="span">How long it lives, by its own clock.</param>
    /// <param name="tellsBusiness">Whether the business hears of faults, at the phone's push service.</param>
    public SoakTown(TimeSpan span, bool tellsBusiness = false)
    {
        _tellsBusiness = tellsBusiness;
        _network = new DemoRelay(_port);
        Begin = new DateTimeOffset(TimeProvider.System.GetUtcNow().UtcDateTime.Date.AddDays(-Math.Ceiling(span.TotalDays) - 2).AddHours(7), TimeSpan.Zero);
        _pageWatch = new PageWatch(Path.Combine(ServerDisk.Folder, "server", "readings.sqlite"), Spots, Rule(Spots[0]).SilentAfter, () => Passed, Journal.MadeAt);
    }

    /// <summary>How often each mishap truly happened.</summary>
    public Dictionary<MishapKind, int> Happened { get; } = [];

    /// <summary>Spot and milliseconds of what the store had and a restore took away.</summary>
    public HashSet<(SpotId, long)> Undone { get; } = [];

    /// <summary>What was seen of the pages.</summary>
    public PageWatch Pages => _pageWatch;

    public SoakPhone Phone { get; } = new();

    public SmallDisk ServerDisk { get; } = SmallDisk.Mount(Directory.CreateTempSubdirectory("pw-server-disk-").FullName, kilobytes: 131_072);

    public static AlertRule Rule(SpotId spot) => new() { LimitCelsius = Limits.Single(limit => limit.Spot == spot).LimitCelsius, Interval = Interval, SilentIntervals = SilentIntervals };

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

    private string DataFolder => Path.Combine(ServerDisk.Folder, "server");

    private string Data => $"--Data:Folder={DataFolder}";

    private string Authority => Path.Combine(DataFolder, "tls", "authority.pem");

    private string OutboxFile => Path.Combine(Disk.Folder, "simulated-outbox.db");

    public async Task StartAsync()
    {
        // Where the sun stands highest at noon of UTC, as in the simulated day.
        foreach (var (spot, surface, limit) in Limits)
            await OperatorAsync(string.Create(CultureInfo.InvariantCulture, $"spot add {spot} --name {spot} --surface {surface} --limit {limit} --latitude 5.5 --longitude 0.2 --time-zone Africa/Accra"));
        var said = await OperatorAsync($"gateway add simulated --spots {string.Join(',', Spots)}");
        _password = said.Split('\n').Single(line => line.StartsWith("password", StringComparison.Ordinal))[8..].Trim();
        await Phone.StartAsync();
        await AddWalkerAsync();
        _began = TimeProvider.System.GetUtcNow();
        _elapsed.Start();
        StartServer();
        for (var began = Stopwatch.StartNew(); !File.Exists(Authority);)
        {
            Assert.True(began.Elapsed < Patience.Span && !_server!.HasExited, $"the server does not start: {string.Join('\n', ServerErrors)}");
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        StartGateway(TimeSpan.Zero);
        _looking = LookAsync(_stop.Token);
    }

    /// <summary>Lets a mishap happen, or end.</summary>
    public async Task HappenAsync(Mishap mishap)
    {
        // A restore is one when it was done.
        if (!mishap.Ends && mishap.Kind != MishapKind.Restore)
            Count(mishap.Kind);
        switch (mishap.Kind)
        {
            case MishapKind.KillGateway or MishapKind.KillGatewayWrongClock:
                await KillGatewayAsync();
                StartGateway(mishap.ClockBy);
                break;
            case MishapKind.KillServer:
                var killed = Phone.Now;
                await _server!.DisposeAsync();
                // A message may have come whose answer the server did not live to write down.
                _disturbed.Add((killed - TimeSpan.FromSeconds(2), killed));
                StartServer();
                break;
            case MishapKind.Restore when !mishap.Ends:
                await BackUpAsync();
                break;
            case MishapKind.Restore:
                await RestoreAsync();
                break;
            case MishapKind.ServerDiskFull when mishap.Ends:
                FreeServerDisk();
                break;
            case MishapKind.ServerDiskFull:
                _serverDiskFullUntil = _pageWatch.UnwrittenUntil = TimeSpan.MaxValue;
                ServerDisk.Fill();
                break;
            case MishapKind.ServerClockStep:
                _server!.Type($"clock {mishap.ClockBy:c}");
                _serverAhead += mishap.ClockBy;
                _serverClock.Add((Passed, _serverAhead));
                _pageWatch.ClockSetAt = Passed;
                break;
            case MishapKind.PushHangs or MishapKind.PushFails or MishapKind.PushNeverEnds when mishap.Ends:
                EndPushTrouble();
                break;
            case MishapKind.PushHangs or MishapKind.PushFails or MishapKind.PushNeverEnds:
                EndPushTrouble();
                _pushTroubleSince = Phone.Now;
                Phone.Trouble = mishap.Kind switch { MishapKind.PushHangs => PushTrouble.Hangs, MishapKind.PushFails => PushTrouble.Fails, _ => PushTrouble.NeverEnds };
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

    /// <summary>What a stranger is told of the server's faults.</summary>
    public async Task<string?> HealthAsync()
    {
        using var stranger = new HttpClient();
        using var answer = await stranger.GetAsync(new Uri($"http://127.0.0.1:{_pages}/health/ready"), TestContext.Current.CancellationToken);
        using var json = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken));
        return json.RootElement.GetProperty("parts").GetProperty("faults").GetProperty("status").GetString();
    }

    /// <summary>
    /// Everything is mended, the gateway killed, and its real program without probes sends what its outbox still holds; what is dated
    /// ahead is offered again when the server's clock has come so far, so that only what is years ahead is kept.
    /// </summary>
    public async Task DrainAsync()
    {
        Disk.Free();
        FreeServerDisk();
        EndPushTrouble();
        _network.Cut();
        _network.Mend();
        await KillGatewayAsync();
        var settings = Path.Combine(_folder, "drain.json");
        await File.WriteAllTextAsync(settings, "{}", TestContext.Current.CancellationToken);
        var began = Stopwatch.StartNew();
        while (true)
        {
            await OfferAllAsync(settings);
            var ahead = KeptAtGateway().Select(kept => DateTimeOffset.FromUnixTimeMilliseconds(kept.Item2)).Where(date => date < ServerNow + YearsAway).ToList();
            if (ahead.Count == 0)
                break;
            for (began.Restart(); ServerNow + ReadingPack.MostAhead < ahead.Max();)
            {
                Assert.True(began.Elapsed < TimeSpan.FromMinutes(10), $"{ahead.Count} readings are still ahead at {ServerNow:O}, the last of {ahead.Max():O}");
                await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, TestContext.Current.CancellationToken);
            }
        }

        // What the server writes after that, as nothing is measured any more, it has no time to send.
        for (began.Restart(); (_messages = AlertAudit.Written(Registry).Messages).Any(message => message.Standing == "Waiting");)
        {
            Assert.True(began.Elapsed < Patience.Span && !_server!.HasExited, "messages still wait to be sent");
            await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        await _stop.CancelAsync();
        await _looking;
        await _server!.KillAsync();
    }

    private DateTimeOffset ServerNow => Begin + Passed + _serverAhead;

    /// <summary>A gateway's program starts, offers all that the outbox holds, what was put off too, and is killed.</summary>
    private async Task OfferAllAsync(string settings)
    {
        // As after ten minutes of its time: what is put off then was offered.
        using (var file = OpenOutbox())
        {
            using var command = file.CreateCommand();
            command.CommandText = "DELETE FROM put_off";
            command.ExecuteNonQuery();
        }

        await using var gateway = SoakProcess.Start(
            "gateway", "PavementWatch.Gateway.dll",
            ["run", "--settings", settings, "--data", Disk.Folder, "--Gateway:Id=simulated", $"--Outbox:Path={OutboxFile}", .. Publishing()], GatewaySays);
        for (var began = Stopwatch.StartNew(); Number("SELECT count(*) FROM reading WHERE id NOT IN (SELECT id FROM put_off)") is > 0 and var waiting;)
        {
            Assert.True(began.Elapsed < Patience.Span && !gateway.HasExited, $"{waiting} readings still wait: {string.Join('\n', Journal.Errors)}");
            await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, TestContext.Current.CancellationToken);
        }

        await gateway.KillAsync();
    }

    /// <summary>The alerts as told, against what the stored readings call for.</summary>
    public AlertAudit Audited(IEnumerable<StoredReading> stored)
    {
        var changes = AlertAudit.Written(Registry).Changes;
        var audit = new AlertAudit();
        audit.Decisions(stored.Where(row => !CameLate(row)), changes, Rule, _restoredAt);
        audit.Estimates(Pages.Estimated, changes, _rewound);
        audit.Messages(_messages, [.. Phone.Messages], _disturbed);
        return audit;
    }

    /// <summary>
    /// Whether a reading was history when it came, whatever its date says: one of a gateway whose clock is hours ahead waits there
    /// until the server's clock has come so far, and the server goes by its age.
    /// </summary>
    private bool CameLate(StoredReading row)
    {
        if (Journal.MadeAt(row.Reading.Spot, row.Reading.MeasuredAt) is not { } made)
            return false;
        var ends = _serverClock.Skip(1).Select(set => set.From).Append(TimeSpan.MaxValue - Interval);
        // Where its clock was set back, the server said this time twice; the sooner makes the reading younger.
        var came = _serverClock.Zip(ends, (set, end) => (set.From, At: row.ReceivedAt - Begin - set.Ahead, To: end))
            .Where(span => span.At >= made && span.At >= span.From - Interval && span.At < span.To + Interval).Select(span => (TimeSpan?)span.At).Min();
        return came - made >= Rule(row.Reading.Spot).SilentAfter - Interval;
    }

    /// <summary>Everything in the store of a server that has been stopped; read from a copy, as its disk may be full.</summary>
    public async Task<List<StoredReading>> StoredAsync()
    {
        var copy = Directory.CreateDirectory(Path.Combine(_folder, $"read-{Passed.Ticks}")).FullName;
        foreach (var file in Directory.GetFiles(DataFolder, "readings.sqlite*").Where(file => !file.EndsWith("-shm", StringComparison.Ordinal)))
            File.Copy(file, Path.Combine(copy, Path.GetFileName(file)), overwrite: true);
        List<StoredReading> stored = [];
        var store = new SqliteReadingStore(new StoreOptions { Path = Path.Combine(copy, "readings.sqlite") });
        foreach (var spot in Spots)
        {
            var rows = await store.RangeAsync(spot, DateTimeOffset.UnixEpoch, DateTimeOffset.MaxValue.AddDays(-1), TestContext.Current.CancellationToken);
            stored.AddRange(rows);
        }

        await store.DisposeAsync();
        SqliteConnection.ClearAllPools();
        Directory.Delete(copy, recursive: true);
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
        await _stop.CancelAsync();
        await _looking;
        _stop.Dispose();
        _restoring.Dispose();
        if (_gateway is not null)
            await _gateway.DisposeAsync();
        if (_server is not null)
            await _server.DisposeAsync();
        await _network.DisposeAsync();
        await Phone.DisposeAsync();
        SqliteConnection.ClearAllPools();
        Disk.Dispose();
        ServerDisk.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private async Task<string> OperatorAsync(string line)
    {
        await using StringWriter output = new(), error = new();
        var code = await Server.Commands.CommandLine.RunAsync([.. line.Split(' '), Data], output, error);
        Assert.True(code == 0, $"{line}: {error}");
        return output.ToString();
    }

    private string Registry => Path.Combine(DataFolder, "registry.sqlite");

    /// <summary>A walker whose phone is told of every spot, and a way into the pages.</summary>
    private async Task AddWalkerAsync()
    {
        await using var app = ServerApp.Build(new ServerAppOptions { DataFolder = DataFolder, Url = "http://127.0.0.1:0", Settings = new Dictionary<string, string?> { ["Notifications:LoopbackOrigins:0"] = Phone.Origin } });
        await app.Services.GetRequiredService<SpotCatalogue>().RefreshAsync(TestContext.Current.CancellationToken);
        var people = app.Services.GetRequiredService<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, TestContext.Current.CancellationToken);
        var (p256dh, auth) = Phone.Keys;
        var faults = await app.Services.GetRequiredService<Subscriptions>().AddAsync(
            ines.Id, Phone.Endpoint, p256dh, auth, [.. Spots.Select(spot => spot.Value)], TestContext.Current.CancellationToken);
        Assert.Empty(faults);
        _enter = await people.NewSignInTokenAsync(ines.Id, TestContext.Current.CancellationToken);
    }

    /// <summary>Looks at the pages all the while; a server that is away is looked at again.</summary>
    private async Task LookAsync(CancellationToken cancellationToken)
    {
        var entered = "";
        using var browser = new HttpClient(new HttpClientHandler { CookieContainer = new CookieContainer() })
        {
            BaseAddress = new Uri($"http://127.0.0.1:{_pages}"),
            Timeout = TimeSpan.FromSeconds(10),
        };
        while (!cancellationToken.IsCancellationRequested)
        {
            try
            {
                // A restore ends every session; the link made after it is the way back.
                if (entered != _enter)
                {
                    var link = _enter;
                    // Used with the answer lost, it says who is signed in and has nothing to press.
                    if (!(await browser.GetStringAsync(new Uri($"/enter/{link}", UriKind.Relative), cancellationToken)).Contains("<form", StringComparison.Ordinal))
                    {
                        entered = link;
                        continue;
                    }

                    using var answer = await browser.EnterAsync($"/enter/{link}");
                    if (answer.IsSuccessStatusCode)
                        entered = link;
                }
                else
                {
                    await _pageWatch.LookAsync(browser);
                }
            }
            catch (HttpRequestException refused) when (refused.StatusCode is not null && entered != _enter)
            {
                // The link was used, and the answer lost with the server that gave it.
                await NewLinkAsync();
            }
            catch (Exception away) when (away is HttpRequestException or OperationCanceledException)
            {
                // Killed, or not up yet.
            }

            await Task.Delay(TimeSpan.FromMilliseconds(100), TimeProvider.System, CancellationToken.None);
        }
    }

    /// <summary>Asks the operator for a new way in, as a walker does; on a full disk there is none.</summary>
    private async Task NewLinkAsync()
    {
        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System, CancellationToken.None);
        await _restoring.WaitAsync(CancellationToken.None);
        try
        {
            if (await TriedAsync("person link Ines") is { } said)
                _enter = LinkIn(said);
        }
        catch (Exception full) when (full is DbException || full.InnerException is DbException)
        {
            // A full disk takes no new link; the walker asks again.
        }
        finally
        {
            _restoring.Release();
        }
    }

    private static string LinkIn(string said) => said.Trim().Split('/')[^1];

    /// <summary>A copy of all the server keeps; a full disk or a server that is just starting may spoil it, as in life.</summary>
    private async Task BackUpAsync()
    {
        _backup = null;
        var folder = Path.Combine(_folder, $"backup-{Passed.Ticks}");
        var began = Passed;
        if (await TriedAsync($"backup {folder}") is not null)
            _backup = (folder, began);
    }

    private async Task RestoreAsync()
    {
        if (_backup is not var (from, madeAt))
            return;
        await _restoring.WaitAsync(TestContext.Current.CancellationToken);
        try
        {
            await RestoreAsync(from, madeAt);
        }
        finally
        {
            _restoring.Release();
        }
    }

    private async Task RestoreAsync(string from, TimeSpan madeAt)
    {
        var killed = Phone.Now;
        await _server!.DisposeAsync();
        _disturbed.Add((TimeSpan.Zero, killed));
        SqliteConnection.ClearAllPools();
        var before = await StoredAsync();
        SqliteConnection.ClearAllPools();
        if (await TriedAsync($"restore {from}") is not null)
        {
            // What was there before is removed when all is well, as the operator is told; it would fill the disk in an hour.
            foreach (var aside in Directory.GetDirectories(DataFolder, "before-restore-*"))
                Directory.Delete(aside, recursive: true);
            _rewound.Add((madeAt, Passed));
            _restoredAt.Add(Begin + Passed + _serverAhead);
            Count(MishapKind.Restore);
            _enter = LinkIn(await OperatorAsync("person link Ines"));
            var after = (await StoredAsync()).Select(row => (row.Reading.Spot, row.Reading.MeasuredAt)).ToHashSet();
            Undone.UnionWith(before.Select(row => (row.Reading.Spot, row.Reading.MeasuredAt)).Where(row => !after.Contains(row)).Select(row => (row.Spot, row.MeasuredAt.ToUnixTimeMilliseconds())));
        }

        SqliteConnection.ClearAllPools();
        StartServer();
    }

    private void Count(MishapKind kind) => Happened[kind] = Happened.GetValueOrDefault(kind) + 1;

    private async Task<string?> TriedAsync(string line)
    {
        await using StringWriter output = new(), error = new();
        var code = await Server.Commands.CommandLine.RunAsync([.. line.Split(' '), Data], output, error);
        Said.Enqueue($"{Passed:c} operator {line}: {code} {output} {error}");
        return code == 0 ? output.ToString() : null;
    }

    private void FreeServerDisk()
    {
        ServerDisk.Free();
        if (_serverDiskFullUntil == TimeSpan.MaxValue)
            _serverDiskFullUntil = _pageWatch.UnwrittenUntil = Passed + TimeSpan.FromMinutes(30);
        // One that could not start on a full disk is started again, as systemd does.
        if (_server!.HasExited)
            StartServer();
    }

    private void EndPushTrouble()
    {
        if (_pushTroubleSince is { } since)
            _disturbed.Add((since, Phone.Now));
        _pushTroubleSince = null;
        Phone.Trouble = PushTrouble.None;
    }

    private string Moment(TimeSpan ahead) => (Begin + ahead).ToString("O", CultureInfo.InvariantCulture);

    private void StartServer() => _server = SoakProcess.Start(
        "server", "PavementWatch.Server.dll",
        [
            "rehearse", "--speed", $"{Speed}", "--from", Moment(_serverAhead), "--since", _began.ToString("O", CultureInfo.InvariantCulture),
            Data, $"--Notifications:LoopbackOrigins:0={Phone.Origin}", $"--Notifications:TimeToLive={SoakPhone.NewsFor:c}", "--Notifications:FirstRetry=00:01:00", $"--Watch:Interval={Interval:c}", $"--Watch:SilentIntervals={SilentIntervals}",
            "--Watch:Tick=00:01:00", $"--Urls=http://127.0.0.1:{_pages}", "--Broker:Address=", "--Broker:Tls:Own=true", "--Broker:Tls:HostNames=127.0.0.1",
            "--Broker:Tls:Address=127.0.0.1", $"--Broker:Tls:Port={_port}", "--Logging:Console:FormatterName=simple", "--Logging:Console:FormatterOptions:SingleLine=true",
            .. _tellsBusiness ? new[] { $"--Notifications:Business:WebhookUrl={Phone.Origin}/business" } : [],
        ],
        line =>
        {
            Said.Enqueue($"{Passed:c} server {line}");
            // On a full disk it may complain as it likes, and what health finds is asked for.
            if (!line.Contains("HealthChecks.DefaultHealthCheckService", StringComparison.Ordinal) && (line.StartsWith("fail:", StringComparison.Ordinal) || line.StartsWith("crit:", StringComparison.Ordinal)) && Passed > _serverDiskFullUntil)
                ServerErrors.Enqueue(line);
            else if (line.Contains("kept out", StringComparison.Ordinal))
                KeptOut.Enqueue(line);
        });

    private void GatewaySays(string line)
    {
        Said.Enqueue($"{Passed:c} gateway {line}");
        Journal.Note(line, Passed);
    }

    private void StartGateway(TimeSpan clockBy)
    {
        _isYearsAhead = false;
        _gateway = SoakProcess.Start(
            "gateway", "PavementWatch.Gateway.dll",
            [
                "run", "--simulate", "--mishaps", "--speed", $"{Speed}", "--from", Moment(clockBy), "--since", _began.ToString("O", CultureInfo.InvariantCulture), "--data", Disk.Folder,
                "--Sampling:Period=00:00:30", $"--Sampling:Interval={Interval:c}", "--Publishing:StatusEvery=01:00:00",
                .. Limits[2..].SelectMany((limit, index) => (string[])
                [
                    $"--Spots:{limit.Spot}:Surface={limit.Surface}", $"--Probes:{limit.Spot}-ir:Kind=Mlx90614",
                    $"--Probes:{limit.Spot}-ir:Address=0x{0x5C + index:X2}", $"--Probes:{limit.Spot}-ir:Spot={limit.Spot}",
                ]),
                // Both tell of each reading; the journal is made of that.
                $"--Logging:LogLevel:{typeof(ReadingOutbox).Namespace}=Debug", $"--Logging:LogLevel:{typeof(OutboxFiller).FullName}=Debug", .. Publishing(),
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
