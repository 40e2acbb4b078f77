using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>What is told while the registry takes nothing: never out of order, never twice, never to nobody.</summary>
public sealed class UnwrittenAlertsTests
{
    private const string DeadService = "http://127.0.0.1:9";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task An_all_clear_that_waits_to_be_repeated_never_follows_a_warning_told_from_memory()
    {
        await using var service = await ReceiverHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(settings: service.AsAllowed, services: full.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, service.Endpoint("phone"), service.Receiver);
        service.AnswerNextWith(503);
        await RecordAsync(server, AlertReason.UnderLongEnough);
        await service.NextAsync();
        await UntilAsync(server, db => db.Notifications.AnyAsync(n => n.Attempts == 1, Cancel), "the all-clear is not put off");

        full.IsFull = true;
        await RecordAsync(server, AlertReason.ReadingsOverLimit);
        Assert.Equal("tooHot", PushMessageBody.Of((await service.NextAsync()).Text).State);
        for (var i = 0; i < 10; i++)
        {
            server.Later(TimeSpan.FromSeconds(10));
        }

        full.IsFull = false;
        await UntilAsync(
            server,
            async db =>
            {
                server.Later(TimeSpan.FromMinutes(1));
                return await db.Notifications.CountAsync(n => n.Standing == NotificationStanding.Overtaken, Cancel) == 1
                    && await db.Notifications.CountAsync(n => n.Standing == NotificationStanding.Sent, Cancel) == 1;
            },
            "the all-clear is not set aside");
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task An_all_clear_is_no_news_after_a_warning_that_the_device_was_not_told_of()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        await AddPhoneAsync(server, service.Endpoint("phone"), service.Receiver);
        service.AnswerNextWith(503);
        await RecordAsync(server, AlertReason.UnderLongEnough);
        await service.NextAsync();
        await UntilAsync(server, db => db.Notifications.AnyAsync(n => n.Attempts == 1, Cancel), "the all-clear is not put off");
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            await db.Set<FollowRow>().ExecuteDeleteAsync(Cancel);

        await RecordAsync(server, AlertReason.ReadingsOverLimit);
        server.Later(TimeSpan.FromMinutes(1));

        await UntilAsync(server, db => db.Notifications.AnyAsync(n => n.Standing == NotificationStanding.Overtaken, Cancel), "the all-clear is not set aside");
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task What_was_told_from_memory_is_written_together_with_what_the_machine_remembers()
    {
        await using var service = await ReceiverHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(settings: service.AsAllowed, services: full.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, service.Endpoint("phone"), service.Receiver);
        full.IsFull = true;
        await WatchTests.TooHotAsync(server);
        while (PushMessageBody.Of((await service.NextAsync()).Text).State != "tooHot")
        {
        }

        full.IsFull = false;
        // No minute passes: a server that ends here has written this and nothing else.
        await UntilAsync(server, _ => server.Get<UnwrittenAlerts>().WriteAsync(Cancel), "the changes are not written");

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(AlertState.TooHot, (await db.AlertEvents.OrderBy(e => e.Id).LastAsync(Cancel)).To);
        var row = await db.AlertMemories.SingleAsync(m => m.SpotId == NorthGate.Id.Value, Cancel);
        var memory = JsonSerializer.Deserialize<AlertMemory>(row.Json)!;
        Assert.Equal((AlertState.TooHot, HotEpisode.Measured), (memory.State, memory.Hot));
    }

    [Fact]
    public async Task A_warning_that_no_device_takes_while_the_registry_takes_nothing_goes_to_the_business_once()
    {
        await using var hook = await WebhookHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(settings: WithBusiness(hook), services: full.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, DeadService + "/push/phone", new PushReceiver(_ => Task.FromResult(201)));
        full.IsFull = true;
        await RecordAsync(server, AlertReason.ReadingsOverLimit);

        using var told = await UnseenAsync(server, hook);
        var data = told.RootElement.GetProperty("data");
        Assert.Equal(("North Gate plaza", 1, 0), (data.GetProperty("spotName").GetString(), data.GetProperty("walkers").GetInt32(), data.GetProperty("sent").GetInt32()));

        full.IsFull = false;
        await UntilAsync(
            server,
            async db =>
            {
                server.Later(TimeSpan.FromMinutes(1));
                return await db.AlertEvents.AnyAsync(e => e.Unseen == UnseenStanding.Unseen, Cancel)
                    && await db.BusinessNotices.AnyAsync(n => n.EventId != null && n.Standing == NotificationStanding.Sent, Cancel);
            },
            "it is not written that the business knows");
        while (!hook.IsQuiet)
            Assert.DoesNotContain("alert.unseen", (await hook.NextAsync()).Body, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_change_that_can_never_be_written_stops_no_later_one_of_any_spot()
    {
        await using var service = await ReceiverHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(settings: service.AsAllowed, services: full.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, service.Endpoint("phone"), service.Receiver);
        full.IsFull = true;
        await RecordAsync(server, AlertReason.ReadingsOverLimit);
        Assert.Equal(NorthGate.Id.Value, PushMessageBody.Of((await service.NextAsync()).Text).Spot);
        full.UnwritableSpot = NorthGate.Id.Value;
        full.IsFull = false;

        await UntilAsync(server, _ => server.Get<UnwrittenAlerts>().WriteAsync(Cancel), "what cannot be written is never given up");
        Assert.DoesNotContain(server.Get<ServiceFaults>().Standing, fault => fault.Key == UnwrittenAlerts.Fault);
        await RecordAsync(server, AlertReason.ReadingsOverLimit, QuarrySteps);

        await UntilAsync(server, db => db.AlertEvents.AnyAsync(e => e.SpotId == QuarrySteps.Id.Value, Cancel), "the change after it is not written");
        Assert.True(service.IsQuiet);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Who_comes_to_heat_that_the_registry_does_not_have_is_told_once_or_the_business_is(bool withPhone)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var hook = await WebhookHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(
            settings: new Dictionary<string, string?>(service.AsAllowed) { ["Notifications:Business:WebhookUrl"] = hook.Address }, services: full.AddTo);
        server.ExpectedErrors = [""];
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        int tobias;
        if (withPhone)
        {
            using var browser = await WhoIsToldTests.PhoneAsync(server, service, "Tobias", QuarrySteps.Id.Value);
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            tobias = await db.People.Where(p => p.UserName == "Tobias").Select(p => p.Id).SingleAsync(Cancel);
        }
        else
        {
            tobias = (await server.Get<PersonStore>().AddAsync("Tobias", Role.Walker, Cancel)).Id;
        }

        await AddWalkAsync(server, tobias, startsIn: TimeSpan.FromMinutes(156));
        // As every phone does that asks for alerts: the server's key is made then.
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
        full.IsFull = true;
        await WatchTests.TooHotAsync(server);
        PushArrival told;
        do
        {
            told = await service.NextAsync();
            Assert.Equal("Ines", told.Device);
        }
        while (PushMessageBody.Of(told.Text).State != "tooHot");

        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 29)]);
        Assert.True(service.IsQuiet, "before the walk is near");
        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 12)]);

        if (withPhone)
        {
            told = await service.NextAsync();
            Assert.Equal("Tobias", told.Device);
            Assert.StartsWith("Since 12:02. The ground is at 53 °C", PushMessageBody.Of(told.Text).Body, StringComparison.Ordinal);
        }
        else
        {
            using var unseen = await UnseenAsync(server, hook);
            var data = unseen.RootElement.GetProperty("data");
            Assert.Equal((true, 1), (data.GetProperty("cameLater").GetBoolean(), data.GetProperty("walkers").GetInt32()));
        }

        full.IsFull = false;
        await UntilAsync(
            server,
            async db =>
            {
                await server.MinuteAsync(NorthGate);
                return await db.ConcernedWalkers.AnyAsync(c => c.PersonId == tobias, Cancel);
            },
            "it is not written whom it concerns");
        await using var written = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var later = Assert.Single(await written.ConcernedWalkers.Where(c => c.PersonId == tobias).ToListAsync(Cancel));
        // Of the phone no receipt came: that is for the business once the registry says so.
        if (withPhone)
            Assert.NotEqual(UnseenStanding.None, later.Unseen);
        else
            Assert.Equal(UnseenStanding.Unseen, later.Unseen);
        Assert.Equal(withPhone ? 1 : 0, await written.Notifications.CountAsync(n => n.PersonId == tobias && n.EventId == later.EventId && n.Standing == NotificationStanding.Sent, Cancel));
        // Of no phone a receipt came: what stands may be said again, as the repeat it is.
        while (!service.IsQuiet)
        {
            var again = await service.NextAsync();
            Assert.True(PushMessageBody.Of(again.Text).IsRepeat, again.Text);
        }

        while (!withPhone && !hook.IsQuiet)
            Assert.DoesNotContain("\"cameLater\":true", (await hook.NextAsync()).Body, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_warning_too_old_for_phones_when_the_registry_can_be_read_again_goes_to_the_business()
    {
        await using var hook = await WebhookHost.StartAsync();
        var full = new FullRegistry();
        await using var server = await StartAsync(settings: WithBusiness(hook), services: full.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, DeadService + "/push/phone", new PushReceiver(_ => Task.FromResult(201)));
        full.IsUnreadable = true;
        await RecordAsync(server, AlertReason.ReadingsOverLimit);
        await UntilAsync(server, _ => Task.FromResult(full.RefusedLooksForDevices > 0), "nobody was looked for");
        // Half an hour without a look at it, as when the whole machine stands still.
        full.IsUnreadable = false;
        server.Later(TimeSpan.FromMinutes(31));

        using var told = await UnseenAsync(server, hook);

        Assert.Equal("North Gate plaza", told.RootElement.GetProperty("data").GetProperty("spotName").GetString());
        await UntilAsync(
            server,
            db =>
            {
                server.Later(TimeSpan.FromMinutes(1));
                return db.AlertEvents.AnyAsync(e => e.Unseen == UnseenStanding.Unseen, Cancel);
            },
            "the warning is not written as unseen");
    }

    [Fact]
    public void A_warning_of_which_nobody_knows_whom_it_concerns_says_so() =>
        Assert.Contains(
            "Which walkers are concerned could not be read, and none of them was told. Call them.",
            new UnseenWarningNotice(0, "s", "s", "t", Noon, 0, 0, 0, "http://localhost").Body,
            StringComparison.Ordinal);

    private static Dictionary<string, string?> WithBusiness(WebhookHost hook) => new()
    {
        ["Notifications:LoopbackOrigins:0"] = DeadService,
        ["Notifications:Business:WebhookUrl"] = hook.Address,
    };

    /// <summary>Ines's phone, which follows North Gate plaza.</summary>
    private static async Task AddPhoneAsync(RunningServer server, string endpoint, PushReceiver receiver)
    {
        var ines = await server.Get<PersonStore>().AddAsync("Ines", Role.Walker, Cancel);
        var (p256dh, auth) = receiver.Add("phone");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(ines.Id, endpoint, p256dh, auth, [NorthGate.Id.Value], Cancel));
        // As every phone does that asks for alerts: the server's key is made then.
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
    }

    private static async Task AddWalkAsync(RunningServer server, int walker, TimeSpan startsIn)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var wren = new DogRow { Name = "Wren" };
        db.Dogs.Add(wren);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = wren.Id,
            WalkerId = walker,
            Start = server.Time.GetUtcNow() + startsIn,
            Minutes = 30,
            Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
        });
        await db.SaveChangesAsync(Cancel);
    }

    private static async Task RecordAsync(RunningServer server, AlertReason because, Spot? spot = null)
    {
        var now = server.Time.GetUtcNow();
        var (from, to) = because == AlertReason.UnderLongEnough ? (AlertState.Easing, AlertState.Clear) : (AlertState.Clear, AlertState.TooHot);
        await server.Get<AlertStore>().RecordAsync(
            spot ?? NorthGate, AlertMemory.Start(now), new AlertDecision(from, to, because, now, Notify: true, 50) { LimitCelsius = 49 }, Cancel);
    }

    /// <summary>The first notice of an unseen warning; minutes pass until it comes.</summary>
    private static async Task<JsonDocument> UnseenAsync(RunningServer server, WebhookHost hook)
    {
        using var patience = Patience.Token();
        while (true)
        {
            while (hook.IsQuiet)
            {
                server.Later(TimeSpan.FromMinutes(1));
                await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, patience.Token);
            }

            var (_, body) = await hook.NextAsync();
            if (body.Contains("alert.unseen", StringComparison.Ordinal))
                return JsonDocument.Parse(body);
        }
    }

    private static Task UntilAsync(RunningServer server, Func<RegistryDb, Task<bool>> reached, string otherwise) => Patience.UntilAsync(
        async () =>
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            return await reached(db);
        },
        () => otherwise);
}
