using System.Collections.Concurrent;
using System.Net;
using System.Net.Http.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.Webhook;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Notifications;

public sealed class OutboxTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_is_put_into_the_outbox_arrives_readable_with_its_headers()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");

        var body = await PutAsync(server, device, 1);
        var arrival = await service.NextAsync();

        Assert.Equal(body, PushMessageBody.Of(arrival.Text));
        Assert.Equal("high", arrival.Urgency);
        Assert.Equal(1800, arrival.TimeToLiveSeconds);
        Assert.Matches("^[A-Za-z0-9_-]{1,32}$", arrival.Topic);
        Assert.Equal((await server.Get<VapidKeys>().GetAsync(Cancel)).PublicKey, arrival.Sender);
    }

    [Fact]
    public async Task What_waits_when_the_server_stops_is_sent_by_the_next_with_the_same_keys()
    {
        await using var service = await ReceiverHost.StartAsync();
        var folder = Directory.CreateTempSubdirectory("pw-outbox-").FullName;
        string key;
        await using (var first = await RunningServer.StartAsync(folder, settings: service.AsAllowed))
        {
            var device = await SubscribeAsync(first, service, "phone");
            service.AnswerNextWith(503);
            await PutAsync(first, device, 1);
            key = (await service.NextAsync()).Sender;
        }

        var time = new Microsoft.Extensions.Time.Testing.FakeTimeProvider(RunningServer.Noon + TimeSpan.FromMinutes(5));
        await using (await RunningServer.StartAsync(folder, time, service.AsAllowed))
        {
            var again = await service.NextAsync();
            Assert.Equal(key, again.Sender);
            Assert.Equal(1500, again.TimeToLiveSeconds);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_busy_push_service_is_asked_again_after_the_pause_it_names_or_ours()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(500, 429);
        await PutAsync(server, device, 1);
        await service.NextAsync();
        var first = await SettledAsync(server, n => n.Attempts == 1);
        Assert.Equal(RunningServer.Noon.AddSeconds(5), first.NextAttemptAt);
        Assert.Equal("push service answered 500", first.LastFault);

        server.Later(TimeSpan.FromSeconds(5));
        await service.NextAsync();
        var second = await SettledAsync(server, n => n.Attempts == 2);
        Assert.Equal(RunningServer.Noon.AddSeconds(15), second.NextAttemptAt);

        server.Later(TimeSpan.FromSeconds(10));
        await service.NextAsync();
        await SettledAsync(server, n => n is { Attempts: 3, Standing: NotificationStanding.Sent });
    }

    [Fact]
    public async Task What_a_clock_two_hours_ahead_put_here_goes_out_when_the_clock_is_right()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(500);
        await PutAsync(server, device, 1, dated: TimeSpan.FromHours(2));

        await service.NextAsync();
        var first = await SettledAsync(server, n => n.Attempts == 1);
        Assert.Equal(RunningServer.Noon.AddSeconds(5), first.NextAttemptAt);
        // From here on its times are those of the right clock: it is not asked again without a pause.
        Assert.Equal((RunningServer.Noon, RunningServer.Noon.AddMinutes(30)), (first.CreatedAt, first.ExpiresAt));
        server.Later(TimeSpan.FromSeconds(5));
        await service.NextAsync();
        await SettledAsync(server, n => n is { Attempts: 2, Standing: NotificationStanding.Sent });
    }

    [Theory]
    [InlineData(2)]
    [InlineData(24 * 30)]
    public async Task A_warning_that_waits_while_the_clock_is_put_right_goes_out_all_the_same(int hours)
    {
        var clock = new CalendarThatIsSet(RunningServer.Noon);
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(time: clock, settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(503);
        await PutAsync(server, device, 1);
        await service.NextAsync();
        await SettledAsync(server, n => n.Attempts == 1);

        clock.Set(TimeSpan.FromHours(hours));
        server.Get<NotificationOutbox>().Call();
        await SettledAsync(server, n => n.NextAttemptAt == RunningServer.Noon.AddHours(hours).AddSeconds(5));
        clock.Advance(TimeSpan.FromSeconds(5));

        Assert.Equal(1795, (await service.NextAsync()).TimeToLiveSeconds);
        await SettledAsync(server, n => n is { Attempts: 2, Standing: NotificationStanding.Sent });
    }

    [Fact]
    public async Task A_repeat_does_not_wait_for_the_time_of_a_clock_that_was_set_back()
    {
        var clock = new CalendarThatIsSet(RunningServer.Noon);
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(
            time: clock, settings: new Dictionary<string, string?>(service.AsAllowed) { ["Notifications:FirstRetry"] = "00:05:00" });
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(503);
        // Earlier than the time the clock is set to.
        await PutAsync(server, device, 1, dated: TimeSpan.FromMinutes(-10));
        await service.NextAsync();
        await SettledAsync(server, n => n.Attempts == 1);

        clock.Set(TimeSpan.FromMinutes(-9));
        server.Get<NotificationOutbox>().Call();

        await service.NextAsync();
        await SettledAsync(server, n => n is { Attempts: 2, Standing: NotificationStanding.Sent });
    }

    [Theory]
    [InlineData(AlertReason.UnderLongEnough)]
    [InlineData(AlertReason.EstimateUnderLongEnough)]
    [InlineData(AlertReason.UnderRaisedLimit)]
    public async Task An_all_clear_that_waits_while_the_clock_leaps_ahead_is_not_sent(AlertReason because)
    {
        var clock = new CalendarThatIsSet(RunningServer.Noon);
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(time: clock, settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(503);
        await PutAsync(server, [device], 1, because: because);
        await service.NextAsync();
        await SettledAsync(server, n => n.Attempts == 1);

        // Less than a message's life.
        clock.Set(TimeSpan.FromMinutes(10));
        server.Get<NotificationOutbox>().Call();

        await SettledAsync(server, n => n is { Attempts: 1, Standing: NotificationStanding.Expired });
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task An_all_clear_that_a_clock_two_hours_ahead_put_here_is_not_sent()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");

        await PutAsync(server, [device], 1, dated: TimeSpan.FromHours(2), because: AlertReason.UnderLongEnough);

        await SettledAsync(server, n => n is { Attempts: 0, Standing: NotificationStanding.Expired });
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task What_a_device_has_shown_though_nobody_answered_for_it_is_not_sent_again()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(503);
        var body = await PutAsync(server, device, 1);
        await service.NextAsync();
        await SettledAsync(server, n => n.Attempts == 1);

        Assert.True(await server.Get<Receipts>().ShownAsync(body.Id, Cancel));
        server.Later(TimeSpan.FromMinutes(1));

        await SettledAsync(server, n => n is { Attempts: 1, Standing: NotificationStanding.Sent });
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task What_the_watch_puts_here_after_the_clock_was_put_right_keeps_its_times()
    {
        var clock = new CalendarThatIsSet(RunningServer.Noon);
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(time: clock, settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        clock.Set(TimeSpan.FromHours(2));

        await PutAsync(server, device, 1);

        Assert.Equal(1800, (await service.NextAsync()).TimeToLiveSeconds);
    }

    [Theory]
    [InlineData(404)]
    [InlineData(410)]
    public async Task A_dead_device_is_sent_nothing_from_then_on_and_walker_and_business_hear_of_it_until_it_is_back(int answer)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(answer);

        await PutAsync(server, device, 1);
        var row = await SettledAsync(server, n => n.Standing == NotificationStanding.Failed);

        Assert.Equal($"push service answered {answer}", row.LastFault);
        Assert.Equal(0, await CountDevicesAsync(server));
        await PutAsync(server, device, 2);
        Assert.Equal("the device was forgotten before", (await SettledAsync(server, n => n is { EventId: 2, Standing: NotificationStanding.Failed })).LastFault);

        var faults = server.Get<ServiceFaults>();
        await server.Get<GonePhones>().LookAsync(Cancel);
        var fault = Assert.Single(faults.Standing);
        Assert.StartsWith("Ines: a phone of theirs gets no alerts any more since 2026-07-14T", fault.Words, StringComparison.Ordinal);
        Assert.False(fault.FailsHealth);
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        Assert.Contains("A phone of yours gets no alerts any more", NoBreaks(await ines.GetStringAsync(new Uri("/", UriKind.Relative), Cancel)), StringComparison.Ordinal);

        // It comes back by another address and remembers nothing; what it followed is with the server.
        var (p256dh, auth) = service.Receiver.Add("anew");
        using var back = await ines.PostAsJsonAsync(new Uri("/api/push/subscriptions", UriKind.Relative), new { endpoint = service.Endpoint("anew"), keys = new { p256dh, auth } }, Cancel);
        Assert.Contains("north-gate-plaza", await back.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        await server.Get<GonePhones>().LookAsync(Cancel);
        Assert.Empty(faults.Standing);
        Assert.DoesNotContain("no alerts any more", NoBreaks(await ines.GetStringAsync(new Uri("/", UriKind.Relative), Cancel)), StringComparison.Ordinal);
    }

    private static string NoBreaks(string html) => string.Join(' ', html.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    [Theory]
    [InlineData(401)]
    [InlineData(403)]
    public async Task A_device_forbidden_three_times_in_a_row_while_another_is_not_is_forgotten(int answer)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        var other = await AddPhoneAsync(server, service, "Tobias");
        service.AnswerNextWith(answer, answer, 201, answer, 201, answer, answer);
        foreach (var (change, to) in new[] { device, device, device, device, other, device, device }.Select((one, i) => (i + 1, one)))
        {
            Assert.Equal(2, await CountDevicesAsync(server));
            await PutAsync(server, to, change);
            await SettledAsync(server, n => n.EventId == change && n.Attempts == 1);
        }

        Assert.Equal(1, await CountDevicesAsync(server));
        await SettledAsync(server, n => n.EventId == 7 && n.LastFault.Length > 0);
        Assert.Empty(server.Get<ServiceFaults>().Standing);
    }

    [Theory]
    [InlineData(401)]
    [InlineData(403)]
    public async Task A_push_service_that_forbids_everything_is_named_and_its_devices_are_kept_and_told_when_it_is_mended(int answer)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        int[] devices =
        [
            await AddPhoneAsync(server, service, "Ines"), await AddPhoneAsync(server, service, "Tobias"), await AddPhoneAsync(server, service, "Odile"),
        ];
        var faults = server.Get<ServiceFaults>();
        service.AnswerAllWith = answer;
        for (var change = 1; change <= 3; change++)
        {
            await PutAsync(server, devices, change);
            await CountAsync(server, 3, n => n.EventId == change && n.Attempts == 1);
        }

        await Patience.UntilAsync(() => faults.Standing.Count > 0, () => "the service is not named", () => server.Later(TimeSpan.FromSeconds(5)));
        var fault = Assert.Single(faults.Standing);
        Assert.Equal($"push.{new Uri(service.Endpoint("any")).Authority}", fault.Key);
        Assert.Contains("(401 or 403), to 3 phones so far", fault.Words, StringComparison.Ordinal);
        Assert.Contains("Look at this server's clock and date (timedatectl), at Notifications:Subject, and whether the registry with the key", fault.Words, StringComparison.Ordinal);
        Assert.Equal(3, await CountDevicesAsync(server));

        service.AnswerAllWith = null;
        await Patience.UntilAsync(() => faults.Standing.Count == 0, () => "the fault does not end", () => server.Later(TimeSpan.FromSeconds(5)));
        await CountAsync(server, 3, n => n is { EventId: 3, Standing: NotificationStanding.Sent }, () => server.Later(TimeSpan.FromSeconds(5)));
        await CountAsync(server, 6, n => n is { EventId: < 3, Standing: NotificationStanding.Overtaken });
        Assert.Equal(3, await CountDevicesAsync(server));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.All(await db.PushSubscriptions.ToListAsync(Cancel), device => Assert.Equal((0, null), (device.ForbiddenInARow, device.ForbiddenSince)));
    }

    [Fact]
    public async Task A_message_that_was_forbidden_is_signed_anew()
    {
        var signed = new ConcurrentQueue<string>();
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        await using var service = builder.Build();
        service.MapPost("/push/{device}", (HttpRequest request) =>
        {
            signed.Enqueue(request.Headers.Authorization.ToString());
            return Results.StatusCode(signed.Count == 1 ? 403 : 201);
        });
        await service.StartAsync(Cancel);
        var origin = service.Urls.Single();
        await using var server = await RunningServer.StartAsync(settings: new Dictionary<string, string?> { ["Notifications:LoopbackOrigins:0"] = origin });
        await PutAsync(server, await DevicesOfAsync(server, origin, 1), 1);
        await SettledAsync(server, n => n.Attempts == 1);

        await Patience.UntilAsync(() => signed.Count == 2, () => "it is not tried again", () => server.Later(TimeSpan.FromSeconds(5)));

        Assert.Equal(2, signed.Distinct(StringComparer.Ordinal).Count());
        await SettledAsync(server, n => n.Standing == NotificationStanding.Sent);
    }

    [Fact]
    public async Task Old_news_is_not_sent_and_newer_news_of_a_spot_overtakes_older()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        service.AnswerNextWith(503);
        await PutAsync(server, device, 1);
        await service.NextAsync();
        await SettledAsync(server, n => n.Attempts == 1);

        await PutAsync(server, device, 2);
        var newer = await service.NextAsync();
        Assert.Equal("change 2", PushMessageBody.Of(newer.Text).Body);
        await SettledAsync(server, n => n is { EventId: 1, Standing: NotificationStanding.Overtaken });

        service.AnswerNextWith(503);
        await PutAsync(server, device, 3);
        await service.NextAsync();
        await SettledAsync(server, n => n is { EventId: 3, Attempts: 1 });
        server.Later(TimeSpan.FromMinutes(30));
        await SettledAsync(server, n => n is { EventId: 3, Standing: NotificationStanding.Expired });
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task A_receipt_is_kept_and_an_invented_one_is_not_found()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        var body = await PutAsync(server, device, 1);
        using var worker = server.Browser();

        using var told = await worker.PostAsync(new Uri($"/api/push/receipts/{body.Id}", UriKind.Relative), null, Cancel);
        using var invented = await worker.PostAsync(new Uri($"/api/push/receipts/{Guid.NewGuid()}", UriKind.Relative), null, Cancel);

        Assert.Equal(HttpStatusCode.NoContent, told.StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, invented.StatusCode);
        await SettledAsync(server, n => n.ShownAt == RunningServer.Noon);
    }

    [Fact]
    public async Task A_push_service_that_hangs_holds_nobody_of_another()
    {
        await using var hanging = new HangingService();
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: Allowed(service, hanging));
        var device = await SubscribeAsync(server, service, "phone");
        // Five rounds of what goes to one service at a time: over half a minute until the last was tried.
        var stuck = await DevicesOfAsync(server, hanging.Origin, 160);
        await PutAsync(server, stuck, 1);
        await Patience.UntilAsync(() => hanging.Taken > 0, () => "nothing was sent");

        await PutAsync(server, device, 2);
        await service.NextAsync();

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.True(await db.Notifications.AnyAsync(n => n.EventId == 1 && n.Attempts == 0, Cancel));
    }

    [Fact]
    public async Task An_answer_without_end_is_not_read()
    {
        await using var endless = new HangingService(answersWithoutEnd: true);
        await using var server = await RunningServer.StartAsync(
            settings: new Dictionary<string, string?> { ["Notifications:LoopbackOrigins:0"] = endless.Origin });
        await PutAsync(server, await DevicesOfAsync(server, endless.Origin, 1), 1);

        var row = await SettledAsync(server, n => n.Attempts == 1);

        Assert.Equal("push service answered 500", row.LastFault);
        Assert.InRange(endless.Sent, 0, HangingService.MostUnread);
    }

    [Fact]
    public async Task A_business_receivers_answer_without_end_is_not_read()
    {
        await using var endless = new HangingService(answersWithoutEnd: true);
        using var webhook = new BusinessWebhook(Options.Create(new NotificationOptions
        {
            Business = new BusinessOptions { WebhookUrl = $"{endless.Origin}/alerts" },
        }));

        var outcome = await webhook.SendAsync(Guid.NewGuid(), new FaultNotice("store.full", "The disk is full", RunningServer.Noon, null, "http://127.0.0.1/business"), Cancel).WaitAsync(Patience.Span, Cancel);

        Assert.Equal(new SendOutcome.TryLater("the receiver answered 500", null), outcome);
        Assert.InRange(endless.Sent, 0, HangingService.MostUnread);
    }

    [Fact]
    public async Task A_push_service_that_does_not_answer_has_eight_seconds_and_that_is_noted()
    {
        await using var hanging = new HangingService();
        await using var server = await RunningServer.StartAsync(
            settings: new Dictionary<string, string?> { ["Notifications:LoopbackOrigins:0"] = hanging.Origin });
        await PutAsync(server, await DevicesOfAsync(server, hanging.Origin, 1), 1);
        await Patience.UntilAsync(() => hanging.Taken == 1, () => "nothing was sent");

        server.PeopleTime.Advance(TimeSpan.FromSeconds(7.9));
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            Assert.Equal(0, (await db.Notifications.SingleAsync(Cancel)).Attempts);
        server.PeopleTime.Advance(TimeSpan.FromSeconds(0.1));

        Assert.Equal("no answer within 8 s", (await SettledAsync(server, n => n.Attempts == 1)).LastFault);
    }

    [Fact]
    public async Task A_device_removed_while_its_message_is_on_its_way_makes_no_other_repeat()
    {
        await using var hanging = new HangingService();
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: Allowed(service, hanging));
        var device = await SubscribeAsync(server, service, "phone");
        var stuck = await DevicesOfAsync(server, hanging.Origin, 1);
        await PutAsync(server, [.. stuck, device], 1);
        await Patience.UntilAsync(() => hanging.Taken == 1, () => $"{hanging.Taken} were sent");
        await service.NextAsync();

        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            await db.PushSubscriptions.Where(s => s.Id == stuck[0]).ExecuteDeleteAsync(Cancel);
        await SettledAsync(server, n => n.SubscriptionId == device && n is { Standing: NotificationStanding.Sent, Attempts: 1 });
        server.PeopleTime.Advance(PushSender.Patience);
        // Enough of the spots' time for any repeat to be due.
        server.Later(TimeSpan.FromMinutes(10));
        await SettledAsync(server, n => n.SubscriptionId == stuck[0] && n.Standing == NotificationStanding.Failed);

        await PutAsync(server, device, 2);
        Assert.Equal("change 2", PushMessageBody.Of((await service.NextAsync()).Text).Body);
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task What_the_registry_could_not_note_as_sent_is_not_sent_again()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await RunningServer.StartAsync(settings: service.AsAllowed);
        var device = await SubscribeAsync(server, service, "phone");
        server.ExpectedError = "Failed executing DbCommand";
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Database.ExecuteSqlRawAsync(
            "CREATE TRIGGER full BEFORE UPDATE ON Notifications BEGIN SELECT RAISE(FAIL, 'database or disk is full'); END", Cancel);
        await PutAsync(server, device, 1);
        await service.NextAsync();
        for (var i = 0; i < 20; i++)
        {
            server.Later(TimeSpan.FromSeconds(10));
        }

        await db.Database.ExecuteSqlRawAsync("DROP TRIGGER full", Cancel);
        server.Later(TimeSpan.FromSeconds(10));
        await SettledAsync(server, n => n is { Standing: NotificationStanding.Sent, Attempts: 1 });

        await PutAsync(server, device, 2);
        Assert.Equal("change 2", PushMessageBody.Of((await service.NextAsync()).Text).Body);
        Assert.True(service.IsQuiet);
    }

    private static Dictionary<string, string?> Allowed(ReceiverHost service, HangingService hanging) =>
        new(service.AsAllowed) { ["Notifications:LoopbackOrigins:1"] = hanging.Origin };

    /// <summary>Devices of one walker whose push service is in trouble.</summary>
    private static async Task<int[]> DevicesOfAsync(RunningServer server, string origin, int count)
    {
        var tobias = await server.Get<Server.People.PersonStore>().AddAsync("Tobias", Role.Walker, Cancel);
        var receiver = new PushReceiver(_ => Task.FromResult(201));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var devices = Enumerable.Range(0, count).Select(i =>
        {
            var (p256dh, auth) = receiver.Add($"{i}");
            return new PushSubscriptionRow
            {
                PersonId = tobias.Id,
                Endpoint = $"{origin}/push/{i}",
                P256dh = p256dh,
                Auth = auth,
                CreatedAt = RunningServer.Noon,
            };
        }).ToList();
        db.PushSubscriptions.AddRange(devices);
        await db.SaveChangesAsync(Cancel);
        return [.. devices.Select(d => d.Id)];
    }

    private static async Task<int> SubscribeAsync(RunningServer server, ReceiverHost service, string device)
    {
        using var browser = await server.BrowserOfAsync(Role.Walker, "Ines");
        var (p256dh, auth) = service.Receiver.Add(device);
        using var answer = await browser.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint = service.Endpoint(device), keys = new { p256dh, auth }, spots = new[] { "north-gate-plaza" } },
            Cancel);
        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.PushSubscriptions.Select(s => s.Id).SingleAsync(Cancel);
    }

    private static async Task<int> AddPhoneAsync(RunningServer server, ReceiverHost service, string walker)
    {
        var person = await server.Get<Server.People.PersonStore>().AddAsync(walker, Role.Walker, Cancel);
        var (p256dh, auth) = service.Receiver.Add(walker);
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(person.Id, service.Endpoint(walker), p256dh, auth, [], Cancel));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.PushSubscriptions.Where(s => s.PersonId == person.Id).Select(s => s.Id).SingleAsync(Cancel);
    }

    private static async Task<int> CountDevicesAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.PushSubscriptions.CountAsync(s => s.GoneAt == null, Cancel);
    }

    private static async Task<PushMessageBody> PutAsync(RunningServer server, int device, int change, TimeSpan dated = default) =>
        (await PutAsync(server, [device], change, dated))[0];

    private static async Task<IReadOnlyList<PushMessageBody>> PutAsync(
        RunningServer server, int[] devices, int change, TimeSpan dated = default, AlertReason because = AlertReason.ReadingsOverLimit)
    {
        var now = server.Time.GetUtcNow() + dated;
        var bodies = devices.Select(_ => new PushMessageBody(
            Guid.NewGuid(), "north-gate-plaza", "North Gate plaza too hot", "too hot", $"change {change}", AlertSide.Heat, "tooHot", now,
            "/spots/north-gate-plaza", "spot-north-gate-plaza")).ToList();
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            db.AlertEvents.Add(new AlertEventRow
            {
                Id = change,
                SpotId = "north-gate-plaza",
                From = AlertState.Clear,
                To = AlertState.TooHot,
                Because = because,
                Side = AlertSide.Heat,
                At = now,
                LimitCelsius = 49,
                Notified = true,
            });
            db.Notifications.AddRange(devices.Zip(bodies, (device, body) => new NotificationRow
            {
                Id = body.Id,
                EventId = change,
                PersonId = 1,
                SubscriptionId = device,
                SpotId = "north-gate-plaza",
                Side = AlertSide.Heat,
                Payload = body.ToJson(),
                CreatedAt = now,
                ExpiresAt = now + TimeSpan.FromMinutes(30),
                NextAttemptAt = now,
            }));
            await db.SaveChangesAsync(Cancel);
        }

        server.Get<NotificationOutbox>().Call();
        return bodies;
    }

    private static async Task CountAsync(RunningServer server, int count, Func<NotificationRow, bool> wanted, Action? between = null)
    {
        List<NotificationRow> rows = [];
        await Patience.UntilAsync(
            async () =>
            {
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                rows = await db.Notifications.AsNoTracking().ToListAsync(Cancel);
                return rows.Count(wanted) == count;
            },
            () => $"not {count} messages as wanted, but: {string.Join(" | ", rows.Select(r => $"{r.EventId}: {r.Standing}, {r.Attempts} attempts"))}",
            between);
    }

    /// <summary>The notification once it is as wanted; the outbox writes it soon after the push service has answered.</summary>
    private static async Task<NotificationRow> SettledAsync(RunningServer server, Func<NotificationRow, bool> wanted)
    {
        NotificationRow? row = null;
        List<NotificationRow> rows = [];
        await Patience.UntilAsync(
            async () =>
            {
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                rows = await db.Notifications.AsNoTracking().ToListAsync(Cancel);
                return (row = rows.FirstOrDefault(wanted)) is not null;
            },
            () => $"no message as wanted, but: {string.Join(" | ", rows.Select(r => $"{r.Standing}, {r.Attempts} attempts"))}");
        return row!;
    }
}
