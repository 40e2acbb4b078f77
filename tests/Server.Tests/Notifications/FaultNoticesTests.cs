using System.Globalization;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>What is wrong with the service reaches people: on the page, by mail and by webhook, once.</summary>
public sealed class FaultNoticesTests
{
    private const string Words = "readings: the disk is full; make room on it";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Business_page_begins_with_what_is_wrong_since_when_and_the_remedy()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        Assert.DoesNotContain("role=\"alert\"", await browser.GetStringAsync(new Uri("/business", UriKind.Relative), Cancel), StringComparison.Ordinal);
        server.Get<ServiceFaults>().Raise("store.full", Words);
        server.Later(TimeSpan.FromMinutes(7));

        var page = await browser.GetStringAsync(new Uri("/business", UriKind.Relative), Cancel);

        var alert = page.IndexOf("role=\"alert\"", StringComparison.Ordinal);
        Assert.InRange(alert, 0, page.IndexOf("<h1", StringComparison.Ordinal));
        Assert.Contains($"{Words} <span class=\"since\">(since 2026-07-14 12:00 Chicago time, 7 min ago)</span>", page[alert..], StringComparison.Ordinal);
    }

    [Fact]
    public async Task Fault_that_stands_for_a_minute_is_mailed_and_posted_once_and_its_end_once()
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var mail = new MailHost();
        using var password = new PasswordFile();
        await using var server = await ServerAsync(hook, mail.Port, password);
        var faults = server.Get<ServiceFaults>();
        faults.Raise("store.full", Words);
        server.Later(TimeSpan.FromSeconds(50));
        Assert.True(hook.IsQuiet);

        var (_, body) = await ComesAsync(server, hook.NextAsync());
        var letter = await ComesAsync(server, mail.NextAsync());
        Assert.Equal(("fault.raised", "store.full", Words), Told(body));
        Assert.Equal("The service needs somebody: store.full", letter.Subject);
        Assert.Contains(Words, letter.TextBody, StringComparison.Ordinal);

        faults.End("store.full");
        Assert.Equal(("fault.ended", "store.full", Words), Told((await ComesAsync(server, hook.NextAsync())).Body));
        Assert.Equal("Works again: store.full", (await ComesAsync(server, mail.NextAsync())).Subject);

        // The next one to come is of another fault: nothing of the first was told twice.
        faults.Raise("clock.north-gate", "an hour slow");
        Assert.Equal("clock.north-gate", Told((await ComesAsync(server, hook.NextAsync())).Body).Fault);
        Assert.Equal("The service needs somebody: clock.north-gate", (await ComesAsync(server, mail.NextAsync())).Subject);
    }

    [Fact]
    public async Task Restart_tells_nothing_twice_and_the_end_of_what_it_does_not_find_again()
    {
        await using var hook = await WebhookHost.StartAsync();
        var folder = Directory.CreateTempSubdirectory("pw-faults-").FullName;
        await using (var first = await ServerAsync(hook, folder: folder))
        {
            first.Get<ServiceFaults>().Raise("store.full", Words);
            await ComesAsync(first, hook.NextAsync());
            first.Get<ServiceFaults>().Raise("clock.north-gate", "an hour slow");
            await ComesAsync(first, hook.NextAsync());
            await UntilAsync(first, rows => rows.Count(n => n.Standing == NotificationStanding.Sent) == 2);
        }

        await using (var second = await ServerAsync(hook, folder: folder, start: RunningServer.Noon.AddHours(1)))
        {
            second.Get<ServiceFaults>().Raise("store.full", Words);
            var (_, body) = await ComesAsync(second, hook.NextAsync());
            Assert.Equal(("fault.ended", "clock.north-gate", "an hour slow"), Told(body));
            Assert.True(second.Time.GetUtcNow() >= RunningServer.Noon.AddHours(1).AddMinutes(10), "faults are given time to be found again");
            second.Get<ServiceFaults>().End("store.full");
            Assert.Equal(("fault.ended", "store.full", Words), Told((await ComesAsync(second, hook.NextAsync())).Body));
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task What_a_gateway_reported_is_not_over_because_it_is_off_nor_because_the_server_was_restarted_meanwhile()
    {
        await using var hook = await WebhookHost.StartAsync();
        var (folder, gate) = (Directory.CreateTempSubdirectory("pw-faults-").FullName, GatewayId.Parse("north-gate"));
        await using (var first = await ServerAsync(hook, folder: folder))
        {
            await first.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [NorthGate.Id, QuarrySteps.Id], Cancel);
            first.ExpectedError = "Health check faults";
            Report(first, gate, new GatewayReport { State = GatewayReport.Online, DiskFault = "the disk is full", SpotsWithoutProbe = ["quarry-steps"] }.Write());
            await LookAsync(first, 1);
            string?[] told = [Told((await ComesAsync(first, hook.NextAsync())).Body).Fault, Told((await ComesAsync(first, hook.NextAsync())).Body).Fault];
            Assert.Equal(["gateway.north-gate.disk", "probe.quarry-steps"], told.Order());

            // It goes off, and the only news is that.
            Report(first, gate, GatewayReport.Offline);
            await LookAsync(first, 20);
            Assert.Equal(("fault.raised", "gateway.north-gate"), Told((await ComesAsync(first, hook.NextAsync())).Body) is var (type, fault, _) ? (type, fault) : default);
            await UntilAsync(first, rows => rows.Count == 3 && rows.TrueForAll(n => n.Standing == NotificationStanding.Sent));
        }

        await using (var second = await ServerAsync(hook, folder: folder, start: RunningServer.Noon.AddHours(1)))
        {
            second.ExpectedError = "Health check faults";
            string[] all = ["gateway.north-gate", "gateway.north-gate.disk", "probe.quarry-steps"];
            List<string> Standing() => [.. second.Get<ServiceFaults>().Standing.Select(f => f.Key).Order(StringComparer.Ordinal)];
            await Patience.UntilAsync(
                async () =>
                {
                    await LookAsync(second, 1);
                    return Standing().SequenceEqual(all);
                },
                () => $"{string.Join(", ", Standing())} stand");
            await LookAsync(second, 30);
            Assert.Equal(all, Standing());
            Assert.True(hook.IsQuiet);

            // Back, it says that all is well.
            Report(second, gate, new GatewayReport { State = GatewayReport.Online }.Write());
            await LookAsync(second, 1);
            List<string?> ended = [];
            for (var i = 0; i < 3; i++)
            {
                var (type, fault, _) = Told((await ComesAsync(second, hook.NextAsync())).Body);
                Assert.Equal("fault.ended", type);
                ended.Add(fault);
            }

            Assert.Equal(all, ended.Order(StringComparer.Ordinal));
            // What is over stays so when it goes off again.
            Report(second, gate, GatewayReport.Offline);
            await LookAsync(second, 5);
            Assert.Empty(second.Get<ServiceFaults>().Standing);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Mail_that_fails_is_a_fault_told_by_the_other_way_and_its_notices_do_not_multiply()
    {
        await using var hook = await WebhookHost.StartAsync();
        using var password = new PasswordFile();
        // Nobody listens on the discard port.
        await using var server = await ServerAsync(hook, mailPort: 9, password);
        server.Get<ServiceFaults>().Raise("store.full", Words);

        Assert.Equal("store.full", Told((await ComesAsync(server, hook.NextAsync())).Body).Fault);
        var (type, fault, words) = Told((await ComesAsync(server, hook.NextAsync())).Body);
        Assert.Equal(("fault.raised", "notifications.mail"), (type, fault));
        Assert.StartsWith("the business cannot be told by mail: ", words, StringComparison.Ordinal);

        await ComesAsync(server, UntilAsync(server, rows => rows.Where(n => n.Channel == "mail").Sum(n => n.Attempts) > 10));
        await UntilAsync(server, rows => rows.Count == 4 && rows.Count(n => n.Channel == "mail" && n.Standing == NotificationStanding.Waiting) == 2);
        Assert.True(hook.IsQuiet);
    }

    [Fact]
    public async Task Fault_is_told_even_while_the_registry_takes_nothing_and_once_over_all()
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(hook);
        await ExecuteAsync(server, "CREATE TRIGGER Full BEFORE INSERT ON Faults BEGIN SELECT RAISE(ABORT, 'database or disk is full'); END");
        server.Get<ServiceFaults>().Raise("store.full", Words);
        Assert.Equal(("fault.raised", "store.full", Words), Told((await ComesAsync(server, hook.NextAsync())).Body));
        await UntilAsync(server, rows => rows.Count == 0);

        await ExecuteAsync(server, "DROP TRIGGER Full");
        await ComesAsync(server, UntilAsync(server, rows => rows.Count(n => n.Standing == NotificationStanding.Sent) == 1));
        server.Get<ServiceFaults>().End("store.full");
        Assert.Equal("fault.ended", Told((await ComesAsync(server, hook.NextAsync())).Body).Type);
    }

    [Fact]
    public async Task Gateway_that_is_gone_is_told_once_without_its_spots_and_once_that_it_is_back()
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(hook);
        var (gate, statuses) = (GatewayId.Parse("north-gate"), server.Get<GatewayStatusBoard>());
        await server.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [NorthGate.Id, QuarrySteps.Id], Cancel);
        await MeasureAsync(server);
        statuses.Seen(gate, server.Time.GetUtcNow());
        await LookAsync(server, 1);
        statuses.Gone(gate);
        await LookAsync(server, 15);
        Assert.True(hook.IsQuiet);

        var (type, fault, words) = Told((await ComesAsync(server, hook.NextAsync())).Body);
        Assert.Equal(("fault.raised", "gateway.north-gate"), (type, fault));
        Assert.StartsWith(
            "gateway north-gate is off: nothing has come from it since 2026-07-14 12:00 Chicago time; North Gate plaza and Quarry Steps are estimated only until it is back.", words, StringComparison.Ordinal);

        // Its spots have been silent for long by then.
        await LookAsync(server, 120);
        Assert.True(hook.IsQuiet);
        statuses.Seen(gate, server.Time.GetUtcNow());
        await MeasureAsync(server);
        (type, fault, _) = Told((await ComesAsync(server, hook.NextAsync())).Body);
        Assert.Equal(("fault.ended", "gateway.north-gate"), (type, fault));
        await LookAsync(server, 20);
        Assert.True(hook.IsQuiet);
    }

    [Fact]
    public async Task Spot_that_is_measured_no_more_while_its_gateway_is_there_is_told_once_and_its_end_once()
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(hook);
        var gate = GatewayId.Parse("north-gate");
        await server.Get<GatewayStore>().SetGatewayAsync(gate, "secret", [NorthGate.Id, QuarrySteps.Id], Cancel);
        server.Get<GatewayStatusBoard>().Seen(gate, server.Time.GetUtcNow());
        // Quarry Steps has never been measured: it is not missed yet.
        await MeasureAsync(server);
        await LookAsync(server, 59);
        Assert.True(hook.IsQuiet);

        var (type, fault, words) = Told((await ComesAsync(server, hook.NextAsync())).Body);
        Assert.Equal(("fault.raised", "spot.north-gate-plaza"), (type, fault));
        Assert.StartsWith("North Gate plaza: no good reading since 2026-07-14 12:00 Chicago time, though gateway north-gate is to measure it; it is estimated only.", words, StringComparison.Ordinal);
        await LookAsync(server, 60);
        Assert.True(hook.IsQuiet);

        await MeasureAsync(server);
        (type, fault, _) = Told((await ComesAsync(server, hook.NextAsync())).Body);
        Assert.Equal(("fault.ended", "spot.north-gate-plaza"), (type, fault));
    }

    private static async Task MeasureAsync(RunningServer server)
    {
        var now = server.Time.GetUtcNow();
        await server.MeasureAsync(Good(NorthGate, now, 40));
        await server.SeenAsync(NorthGate, spot => spot.MeasuredAt == now);
    }

    private static void Report(RunningServer server, GatewayId gate, byte[] report) =>
        Assert.Null(server.Get<GatewayStatusBoard>().Report(gate, report, server.Time.GetUtcNow(), isOld: false));

    /// <summary>Lets minutes pass, each with a look at gateways and spots.</summary>
    private static async Task LookAsync(RunningServer server, int minutes)
    {
        for (var minute = 0; minute < minutes; minute++)
        {
            server.Later(TimeSpan.FromMinutes(1));
            await server.Get<GatewayFaults>().LookAsync(Cancel);
            server.Get<SpotsWithoutProbe>().Look();
        }
    }

    private static (string? Type, string? Fault, string? Words) Told(string body)
    {
        using var json = JsonDocument.Parse(body);
        var data = json.RootElement.GetProperty("data");
        return (json.RootElement.GetProperty("type").GetString(), data.GetProperty("fault").GetString(), data.GetProperty("text").GetString());
    }

    private static Task<RunningServer> ServerAsync(
        WebhookHost hook, int? mailPort = null, PasswordFile? password = null, string? folder = null, DateTimeOffset? start = null) =>
        RunningServer.StartAsync(folder, new FakeTimeProvider(start ?? RunningServer.Noon), new Dictionary<string, string?>
        {
            // A registry that refuses on purpose is heard of by the notices' own words.
            ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "None",
            ["Notifications:Business:WebhookUrl"] = hook.Address,
            ["Notifications:Business:MailHost"] = mailPort is null ? "" : "127.0.0.1",
            ["Notifications:Business:MailPort"] = (mailPort ?? 587).ToString(CultureInfo.InvariantCulture),
            ["Notifications:Business:MailEncryption"] = "None",
            ["Notifications:Business:MailUser"] = password is null ? "" : MailHost.User,
            ["Notifications:Business:MailPasswordFile"] = password?.Path ?? "",
            ["Notifications:Business:MailFrom"] = "alerts@walks.example",
            ["Notifications:Business:MailTo"] = "office@walks.example",
        });

    /// <summary>Lets the server's clock run until it comes.</summary>
    private static async Task<T> ComesAsync<T>(RunningServer server, Task<T> coming)
    {
        await ComesAsync(server, (Task)coming);
        return await coming;
    }

    private static async Task ComesAsync(RunningServer server, Task coming)
    {
        using var patience = Patience.Token();
        while (await Task.WhenAny(coming, Task.Delay(20, patience.Token)) != coming)
        {
            patience.Token.ThrowIfCancellationRequested();
            server.Later(TimeSpan.FromSeconds(5));
        }

        await coming;
    }

    private static Task UntilAsync(RunningServer server, Func<List<BusinessNoticeRow>, bool> wanted) => Patience.UntilAsync(
        async () =>
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(TestContext.Current.CancellationToken);
            return wanted(await db.BusinessNotices.AsNoTracking().ToListAsync(TestContext.Current.CancellationToken));
        },
        () => "the notices did not become as wanted");

    private static async Task ExecuteAsync(RunningServer server, string sql)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Database.ExecuteSqlRawAsync(sql, Cancel);
    }

    private sealed class PasswordFile : IDisposable
    {
        public PasswordFile() => File.WriteAllText(Path, MailHost.Password);

        public string Path { get; } = System.IO.Path.GetTempFileName();

        public void Dispose() => File.Delete(Path);
    }
}
