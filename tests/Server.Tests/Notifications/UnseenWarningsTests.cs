using System.Globalization;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.Mail;
using PavementWatch.Server.Notifications.Webhook;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Watch;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Notifications;

public sealed class UnseenWarningsTests
{
    private static readonly TimeSpan TwoMinutes = TimeSpan.FromMinutes(2);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public void The_signature_is_that_of_the_open_specification() =>
        // Example of the Standard Webhooks specification, from memory; another key, id, time or text gives another value.
        Assert.Equal(
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
            BusinessWebhook.Signature(
                "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, """{"test": 2432232314}"""));

    [Fact]
    public async Task A_warning_that_no_phone_has_shown_for_two_minutes_is_posted_to_the_business_once()
    {
        await using var hook = await WebhookHost.StartAsync(503);
        var secret = Path.GetTempFileName();
        await File.WriteAllTextAsync(secret, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw\n", Cancel);
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address, ["WebhookSecretFile"] = secret });
        await WalkAsync(server, withPhone: true);
        await WarnAsync(server, AlertReason.ReadingsOverLimit);

        server.Later(TwoMinutes - TimeSpan.FromSeconds(20));
        Assert.True(hook.IsQuiet);
        server.Later(TimeSpan.FromSeconds(20));
        var (headers, body) = await hook.NextAsync();
        var id = headers["webhook-id"].ToString();
        var at = long.Parse(headers["webhook-timestamp"].ToString(), CultureInfo.InvariantCulture);
        Assert.Equal(BusinessWebhook.Signature(await File.ReadAllTextAsync(secret, Cancel), id, at, body), headers["webhook-signature"].ToString());
        using var told = JsonDocument.Parse(body);
        Assert.Equal("alert.unseen", told.RootElement.GetProperty("type").GetString());
        var data = told.RootElement.GetProperty("data");
        Assert.Equal("North Gate plaza", data.GetProperty("spotName").GetString());
        Assert.Equal(1, data.GetProperty("walkers").GetInt32());
        Assert.Equal(1, data.GetProperty("devices").GetInt32());
        Assert.Contains("55 °C (131 °F)", data.GetProperty("text").GetString(), StringComparison.Ordinal);

        // The receiver was busy: the same notice again, and then no more.
        await UntilAsync(server, n => n.Attempts == 1);
        server.Later(TimeSpan.FromSeconds(10));
        Assert.Equal(id, (await hook.NextAsync()).Headers["webhook-id"].ToString());
        await UntilAsync(server, n => n.Standing == NotificationStanding.Sent);
        server.Later(TimeSpan.FromMinutes(5));
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        Assert.True(hook.IsQuiet);
        File.Delete(secret);
    }

    [Theory]
    [InlineData(3)]
    [InlineData(-3)]
    public async Task What_waits_for_the_business_while_the_clock_is_set_goes_out_all_the_same(int hours)
    {
        var clock = new CalendarThatIsSet(RunningServer.Noon);
        await using var hook = await WebhookHost.StartAsync(503);
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address }, clock);
        await WalkAsync(server, withPhone: true);
        await WarnAsync(server, AlertReason.ReadingsOverLimit);
        clock.Advance(TwoMinutes);
        await hook.NextAsync();
        await UntilAsync(server, n => n.Attempts == 1);

        clock.Set(TimeSpan.FromHours(hours));
        clock.Advance(TimeSpan.FromSeconds(10));
        // Its look before may have ended at the earlier time and begun to wait only now.
        server.Get<BusinessOutbox>().Call();

        await UntilAsync(server, n => n is { Attempts: 2, Standing: NotificationStanding.Sent });
        await hook.NextAsync();
    }

    [Fact]
    public async Task A_warning_for_somebody_without_alerts_on_their_phone_is_mailed()
    {
        await using var mail = new MailHost();
        var password = Path.GetTempFileName();
        await File.WriteAllTextAsync(password, MailHost.Password, Cancel);
        await using var server = await ServerAsync(MailTo(mail, password));
        await WalkAsync(server, withPhone: false);
        await WarnAsync(server, AlertReason.ReadingsOverLimit);

        server.Later(TwoMinutes);
        var message = await mail.NextAsync();
        Assert.Equal("North Gate plaza: no walker's phone has shown the warning", message.Subject);
        Assert.Equal("office@walks.example", message.To.Mailboxes.Single().Address);
        Assert.Contains("the ground is at 55 °C (131 °F)", message.TextBody, StringComparison.Ordinal);
        Assert.Contains("One walker is concerned, and none of their phones has alerts switched on. Call them.", message.TextBody, StringComparison.Ordinal);
        Assert.Contains("/spots/north-gate-plaza", message.TextBody, StringComparison.Ordinal);
        await UntilAsync(server, n => n.Standing == NotificationStanding.Sent);
        File.Delete(password);
    }

    [Fact]
    public async Task A_mail_server_that_cannot_encrypt_or_does_not_know_the_password_gets_no_mail_and_is_named()
    {
        await using var mail = new MailHost();
        var password = Path.GetTempFileName();
        await File.WriteAllTextAsync(password, "wrong", Cancel);
        var notice = new UnseenWarningNotice(1, "s", "s", "t", RunningServer.Noon, 1, 1, 1, "http://localhost");
        var plain = Options(MailTo(mail, password));
        var later = Assert.IsType<SendOutcome.TryLater>(await new BusinessMail(plain).SendAsync(Guid.NewGuid(), notice, Cancel));
        Assert.Contains("Notifications:Business:MailUser", later.Detail, StringComparison.Ordinal);

        var encrypted = Options(new(MailTo(mail, password)) { ["MailEncryption"] = "StartTls" });
        Assert.IsType<SendOutcome.TryLater>(await new BusinessMail(encrypted).SendAsync(Guid.NewGuid(), notice, Cancel));
        File.Delete(password);
    }

    [Theory]
    [InlineData(AlertReason.ReadingsOverLimit, true)]
    [InlineData(AlertReason.UnderLongEnough, false)]
    public async Task What_a_phone_has_shown_and_an_all_clear_are_nothing_for_the_business(AlertReason because, bool shown)
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address });
        await WalkAsync(server, withPhone: true);
        await WarnAsync(server, because);
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            if (shown)
                Assert.True(await server.Get<Receipts>().ShownAsync((await db.Notifications.SingleAsync(Cancel)).Id, Cancel));
        }

        server.Later(TimeSpan.FromMinutes(3));
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        Assert.True(hook.IsQuiet);
        await using var after = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(shown ? UnseenStanding.Settled : UnseenStanding.None, (await after.AlertEvents.SingleAsync(Cancel)).Unseen);
    }

    [Theory]
    [InlineData(false, "nobody was near when it became hot")]
    [InlineData(true, "another walker's phone showed it then")]
    public async Task A_walk_that_comes_to_ground_that_is_hot_already_is_told_to_the_business_once(bool anotherWasShown, string why)
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address });
        if (anotherWasShown)
            await FollowAsync(server, "Tobias");
        await WalkAsync(server, withPhone: false, startsIn: TimeSpan.FromMinutes(126));
        await WatchTests.TooHotAsync(server);
        await ShowAllAsync(server);
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        Assert.True(hook.IsQuiet, why);

        // The walk enters its two hours.
        await LaterWalkersAsync(server, walkers => walkers.Count == 1);
        Assert.True(hook.IsQuiet, why);
        await StandingNewsTests.ReadAsync(server, 52, 52);

        using (var told = JsonDocument.Parse((await hook.NextAsync()).Body))
        {
            Assert.Equal("alert.unseen", told.RootElement.GetProperty("type").GetString());
            var data = told.RootElement.GetProperty("data");
            Assert.Equal(
                ("North Gate plaza", true, 1, 0),
                (data.GetProperty("spotName").GetString(), data.GetProperty("cameLater").GetBoolean(), data.GetProperty("walkers").GetInt32(), data.GetProperty("devices").GetInt32()));
            Assert.Equal("North Gate plaza: one more walker is concerned, and no phone of theirs has shown the warning", data.GetProperty("subject").GetString());
            Assert.Contains("One more walker is concerned by now, and none of their phones has alerts switched on. Call them.", data.GetProperty("body").GetString(), StringComparison.Ordinal);
        }

        // It leaves its two hours and comes back, of the same heat.
        foreach (var minutes in new[] { 300, 60 })
        {
            await MoveWalkAsync(server, TimeSpan.FromMinutes(minutes));
            await StandingNewsTests.ReadAsync(server, 52, 52, 52, 52);
        }

        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        await LaterWalkersAsync(server, walkers => walkers is [{ Unseen: UnseenStanding.Unseen }]);
        Assert.True(hook.IsQuiet, why);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task What_the_phone_of_who_comes_later_shows_counts_for_them_alone(bool shown)
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address });
        await FollowAsync(server, "Tobias");
        await WalkAsync(server, withPhone: true, startsIn: TimeSpan.FromMinutes(126));
        await WatchTests.TooHotAsync(server);
        await ShowAllAsync(server);
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        await LaterWalkersAsync(server, walkers => walkers.Count == 1);
        if (shown)
            await ShowAllAsync(server);

        await StandingNewsTests.ReadAsync(server, 52, 52);

        if (!shown)
        {
            using var told = JsonDocument.Parse((await hook.NextAsync()).Body);
            Assert.Equal((1, 1), (told.RootElement.GetProperty("data").GetProperty("walkers").GetInt32(), told.RootElement.GetProperty("data").GetProperty("devices").GetInt32()));
        }

        await LaterWalkersAsync(server, walkers => walkers is [{ Unseen: not UnseenStanding.Watched }]);
        Assert.True(hook.IsQuiet);
    }

    [Fact]
    public async Task What_who_comes_later_was_shown_is_nothing_for_who_was_there()
    {
        await using var hook = await WebhookHost.StartAsync();
        await using var server = await ServerAsync(new() { ["WebhookUrl"] = hook.Address, ["After"] = "00:05:00" });
        await WalkAsync(server, withPhone: false);
        await WatchTests.TooHotAsync(server);
        await FollowAsync(server, "Tobias");
        await LaterWalkersAsync(server, walkers => walkers.Count == 1);
        await ShowAllAsync(server);

        await StandingNewsTests.ReadAsync(server, 52, 52, 52, 52, 52);

        using var told = JsonDocument.Parse((await hook.NextAsync()).Body);
        var data = told.RootElement.GetProperty("data");
        Assert.Equal((false, 1), (data.GetProperty("cameLater").GetBoolean(), data.GetProperty("walkers").GetInt32()));
        await LaterWalkersAsync(server, walkers => walkers is [{ Unseen: UnseenStanding.Settled }]);
        Assert.True(hook.IsQuiet);
    }

    [Theory]
    [InlineData("WebhookUrl", "http://hooks.example/alerts", "Notifications:Business:WebhookUrl is 'http://hooks.example'; expected an https address")]
    [InlineData("MailHost", "mail.example", "Notifications:Business:MailFrom is ''; expected an address such as alerts@walks.example")]
    [InlineData("MailTo", "office@walks.example, Ines", "Notifications:Business:MailTo holds 'Ines'; expected an address such as office@walks.example")]
    [InlineData("MailHost", "10.0.0.9", "Notifications:Business:MailEncryption is None; to '10.0.0.9' expected StartTls or Tls")]
    public void A_bad_setting_is_named_with_what_was_expected(string key, string value, string message)
    {
        var settings = key == "MailHost" && value == "mail.example" ? [] : new Dictionary<string, string?>
        {
            ["MailHost"] = "127.0.0.1",
            ["MailEncryption"] = "None",
            ["MailFrom"] = "alerts@walks.example",
            ["MailTo"] = "office@walks.example",
        };
        settings[key] = value;
        var validated = new NotificationOptionsValidator().Validate(null, Options(settings).Value);
        Assert.Contains(message, validated.FailureMessage, StringComparison.Ordinal);
    }

    private static Dictionary<string, string?> MailTo(MailHost mail, string passwordFile) => new()
    {
        ["MailHost"] = "127.0.0.1",
        ["MailPort"] = mail.Port.ToString(CultureInfo.InvariantCulture),
        ["MailEncryption"] = "None",
        ["MailUser"] = MailHost.User,
        ["MailPasswordFile"] = passwordFile,
        ["MailFrom"] = "alerts@walks.example",
        ["MailTo"] = "office@walks.example",
    };

    private static IOptions<NotificationOptions> Options(Dictionary<string, string?> business)
    {
        var options = new NotificationOptions();
        var configuration = new Microsoft.Extensions.Configuration.ConfigurationManager();
        Microsoft.Extensions.Configuration.MemoryConfigurationBuilderExtensions.AddInMemoryCollection(
            configuration, business.Select(p => KeyValuePair.Create($"Business:{p.Key}", p.Value)));
        Microsoft.Extensions.Configuration.ConfigurationBinder.Bind(configuration, options);
        return Microsoft.Extensions.Options.Options.Create(options);
    }

    private static Task<RunningServer> ServerAsync(Dictionary<string, string?> business, CalendarThatIsSet? clock = null) =>
        RunningServer.StartAsync(time: clock, settings: new Dictionary<string, string?>(
            business.Select(p => KeyValuePair.Create($"Notifications:Business:{p.Key}", p.Value)))
        {
            ["Notifications:LoopbackOrigins:0"] = "http://127.0.0.1:9",
        });

    /// <summary>Somebody follows North Gate plaza on a phone whose push service is away.</summary>
    private static async Task FollowAsync(RunningServer server, string name)
    {
        var person = await server.Get<Server.People.PersonStore>().AddAsync(name, Role.Walker, Cancel);
        var (p256dh, auth) = new PushReceiver(_ => Task.FromResult(201)).Add(name);
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(person.Id, $"http://127.0.0.1:9/push/{name}", p256dh, auth, [RunningServer.NorthGate.Id.Value], Cancel));
    }

    /// <summary>Every phone says that it showed what was meant for it.</summary>
    private static async Task ShowAllAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        foreach (var id in await db.Notifications.Select(n => n.Id).ToListAsync(Cancel))
            Assert.True(await server.Get<Receipts>().ShownAsync(id, Cancel));
    }

    /// <summary>Lets minutes pass until those whom what stands concerns only since it was told are as wanted.</summary>
    private static async Task LaterWalkersAsync(RunningServer server, Func<List<ConcernedWalkerRow>, bool> wanted)
    {
        List<ConcernedWalkerRow> walkers = [];
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        for (var minute = 0; minute < 6; minute++)
        {
            walkers = await db.ConcernedWalkers.AsNoTracking().Where(c => c.Unseen != UnseenStanding.None).ToListAsync(Cancel);
            if (wanted(walkers))
                return;
            await StandingNewsTests.ReadAsync(server, 52);
        }

        Assert.Fail($"of {walkers.Count} who came later stand at {string.Join(", ", walkers.Select(c => c.Unseen))}");
    }

    private static async Task MoveWalkAsync(RunningServer server, TimeSpan startsIn)
    {
        var start = server.Time.GetUtcNow() + startsIn;
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Walks.ExecuteUpdateAsync(set => set.SetProperty(w => w.Start, start), Cancel);
    }

    /// <summary>Ines walks Pickle over North Gate plaza, with a phone whose push service is away or with none.</summary>
    private static async Task WalkAsync(RunningServer server, bool withPhone, TimeSpan? startsIn = null)
    {
        var ines = await server.Get<Server.People.PersonStore>().AddAsync("Ines", Role.Walker, Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        var walk = new WalkRow { DogId = pickle.Id, WalkerId = ines.Id, Start = RunningServer.Noon + (startsIn ?? TimeSpan.FromMinutes(30)), Minutes = 30 };
        walk.Spots.Add(new WalkSpotRow { SpotId = RunningServer.NorthGate.Id.Value });
        db.Walks.Add(walk);
        await db.SaveChangesAsync(Cancel);
        if (!withPhone)
            return;
        var (p256dh, auth) = new PushReceiver(_ => Task.FromResult(201)).Add("phone");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(ines.Id, "http://127.0.0.1:9/push/phone", p256dh, auth, [], Cancel));
    }

    private static async Task WarnAsync(RunningServer server, AlertReason because)
    {
        var now = server.Time.GetUtcNow();
        await server.Get<AlertStore>().RecordAsync(
            RunningServer.NorthGate,
            AlertMemory.Start(now),
            new AlertDecision(AlertState.Clear, AlertState.TooHot, because, now, Notify: true, 55) { LimitCelsius = 49 },
            Cancel);
    }

    private static Task UntilAsync(RunningServer server, Func<BusinessNoticeRow, bool> wanted) => Patience.UntilAsync(
        async () =>
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(TestContext.Current.CancellationToken);
            return await db.BusinessNotices.AsNoTracking().SingleOrDefaultAsync(TestContext.Current.CancellationToken) is { } notice && wanted(notice);
        },
        () => "no notice as wanted");
}
