using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>From readings to what a phone shows: only walkers near hear of a spot.</summary>
public sealed class WhoIsToldTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_follower_reads_what_happened_and_another_walker_hears_nothing()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        using var tobias = await PhoneAsync(server, service, "Tobias", QuarrySteps.Id.Value);

        await WatchTests.TooHotAsync(server);
        PushArrival arrival;
        PushMessageBody body;
        do
        {
            arrival = await service.NextAsync();
            body = PushMessageBody.Of(arrival.Text);
            Assert.Equal("Ines", arrival.Device);
        }
        while (body.State == "rising");

        Assert.Equal("North Gate plaza too hot", body.Title);
        Assert.Contains("51 °C (124 °F)", body.Body, StringComparison.Ordinal);
        Assert.Equal((AlertSide.Heat, "tooHot", "/spots/north-gate-plaza", "north-gate-plaza"), (body.Side, body.State, body.Url, body.Spot));
        Assert.Equal(["Ines"], await ToldAsync(server));
    }

    [Theory]
    [InlineData(124, false, "starts in more than two hours, three minutes after noon")]
    [InlineData(122, true, "starts within two hours")]
    [InlineData(-28, true, "under way")]
    [InlineData(-88, true, "over for less than an hour")]
    [InlineData(-89, false, "over for an hour")]
    public async Task A_walker_whose_walk_goes_by_is_told(int startsInMinutes, bool told, string why)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        await AddWalkAsync(server, startsInMinutes);

        await WatchTests.TooHotAsync(server);

        Assert.True(told == (await ToldAsync(server)).Contains("Ines"), why);
    }

    [Theory]
    [InlineData(37.4065, 29, true, "720 m away")]
    [InlineData(37.4080, 29, false, "890 m away")]
    [InlineData(37.4000, 31, false, "position is older than half an hour")]
    public async Task A_walker_who_shares_a_position_near_is_told(double latitude, int minutesAgo, bool told, string why)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        using var shared = await ines.PostAsJsonAsync(
            new Uri("/api/position", UriKind.Relative), new { latitude, longitude = -97.0 }, Cancel);
        Assert.True(shared.IsSuccessStatusCode);
        server.PeopleTime.Advance(TimeSpan.FromMinutes(minutesAgo));

        await WatchTests.TooHotAsync(server);

        Assert.True(told == (await ToldAsync(server)).Contains("Ines"), why);
    }

    [Fact]
    public async Task Who_follows_a_spot_that_is_hot_already_is_told_once_what_stands_also_after_a_restart()
    {
        var folder = Directory.CreateTempSubdirectory("pw-standing-").FullName;
        await using var service = await ReceiverHost.StartAsync();
        DateTimeOffset now;
        await using (var server = await StartAsync(folder, settings: service.AsAllowed))
        {
            await WatchTests.TooHotAsync(server);
            using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
            await server.MinuteAsync(NorthGate);

            var body = PushMessageBody.Of((await service.NextAsync()).Text);
            Assert.Equal("North Gate plaza too hot", body.Title);
            Assert.Equal("Since 12:02. The ground is at 52 °C (126 °F), the limit is 49 °C (120 °F).", body.Body);
            await SentAsync(server);
            now = server.Time.GetUtcNow().AddMinutes(1);
        }

        await using (var server = await StartAsync(folder, new FakeTimeProvider(now), settings: service.AsAllowed))
        {
            for (var i = 0; i < 3; i++)
            {
                await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 53 + i));
                await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 53 + i);
                await server.MinuteAsync(NorthGate);
            }

            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            Assert.Equal(1, await db.Notifications.CountAsync(Cancel));
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_message_that_was_too_old_before_it_could_be_sent_gives_way_to_what_stands()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await WatchTests.TooHotAsync(server);
        await SentAsync(server);
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
            await db.Notifications.ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Expired), Cancel);

        await server.MinuteAsync(NorthGate);

        Assert.StartsWith("Since 12:02. The ground is at ", (await StandsAsync(service)).Body, StringComparison.Ordinal);
        Assert.Single(await ToldAsync(server));
    }

    [Fact]
    public async Task A_walker_whose_walk_enters_its_two_hours_is_told_what_stands()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        await AddWalkAsync(server, startsInMinutes: 125);
        await WatchTests.TooHotAsync(server);
        Assert.Empty(await ToldAsync(server));

        await server.MinuteAsync(NorthGate);
        await server.MinuteAsync(NorthGate);

        Assert.Equal("North Gate plaza too hot", (await StandsAsync(service)).Title);
    }

    [Fact]
    public async Task Somebody_who_takes_their_position_back_is_not_told()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        using var shared = await ines.PostAsJsonAsync(
            new Uri("/api/position", UriKind.Relative), new { latitude = 37.4, longitude = -97.0 }, Cancel);
        using var taken = await ines.DeleteAsync(new Uri("/api/position", UriKind.Relative), Cancel);
        Assert.True(taken.IsSuccessStatusCode);

        await WatchTests.TooHotAsync(server);

        Assert.Empty(await ToldAsync(server));
    }

    [Fact]
    public async Task A_walk_that_is_moved_into_its_two_hours_while_it_is_hot_is_told_once()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        await AddWalkAsync(server, startsInMinutes: 300);
        await WatchTests.TooHotAsync(server);
        await server.MinuteAsync(NorthGate);
        Assert.Empty(await ToldAsync(server));

        foreach (var minutes in new[] { 100, 300, 100 })
        {
            await MoveWalkAsync(server, minutes);
            await StandingNewsTests.ReadAsync(server, 52, 52);
        }

        Assert.Equal("North Gate plaza too hot", (await StandsAsync(service)).Title);
        Assert.Single(await ToldAsync(server));
    }

    [Fact]
    public async Task A_walk_that_is_moved_out_of_its_two_hours_hears_nothing_more()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        await AddWalkAsync(server, startsInMinutes: 60);
        await WatchTests.TooHotAsync(server);
        Assert.Single(await ToldAsync(server));

        await MoveWalkAsync(server, 300);
        await StandingNewsTests.ReadAsync(server, 57, 58, 58);

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Contains(await db.AlertEvents.ToListAsync(Cancel), e => e is { Because: AlertReason.ReadingsExtreme, Notified: true });
        Assert.Single(await ToldAsync(server));
    }

    [Fact]
    public async Task Who_shares_a_position_near_a_spot_that_is_hot_already_is_told_what_stands()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines");
        await WatchTests.TooHotAsync(server);
        await server.MinuteAsync(NorthGate);
        Assert.Empty(await ToldAsync(server));

        using var shared = await ines.PostAsJsonAsync(
            new Uri("/api/position", UriKind.Relative), new { latitude = 37.4, longitude = -97.0 }, Cancel);
        Assert.True(shared.IsSuccessStatusCode);
        await server.MinuteAsync(NorthGate);

        Assert.Equal("North Gate plaza too hot", (await StandsAsync(service)).Title);
    }

    [Theory]
    [InlineData(false, "it never showed the message")]
    [InlineData(true, "it showed the message")]
    public async Task A_phone_that_was_off_while_its_message_was_news_is_told_once_what_stands_when_it_is_back(bool shown, string why)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await WatchTests.TooHotAsync(server);
        await SentAsync(server);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        if (shown)
        {
            foreach (var message in await db.Notifications.AsNoTracking().ToListAsync(Cancel))
                await server.Get<Receipts>().ShownAsync(message.Id, Cancel);
        }

        // As on every visit.
        await ComesBackAsync(server, service, ines, "Ines");
        // A phone that never said that it showed anything is sent it once more by itself, and no oftener.
        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 64)]);
        while (!service.IsQuiet)
            await service.NextAsync();
        Assert.Single(await ToldAsync(server));
        for (var visit = 0; visit < 2; visit++)
        {
            await ComesBackAsync(server, service, ines, "Ines");
            await StandingNewsTests.ReadAsync(server, 53, 53);
        }

        if (!shown)
            Assert.StartsWith("Since 12:02. The ground is at 53 °C", (await StandsAsync(service)).Body, StringComparison.Ordinal);
        Assert.Single(await ToldAsync(server));
        Assert.True(service.IsQuiet, why);
    }

    [Fact]
    public async Task A_phone_that_is_off_is_sent_what_stands_again_each_time_it_is_no_news_any_more_until_it_shows_it()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await SaidBeforeThatItShowedAsync(server);
        await WatchTests.TooHotAsync(server);
        await SentAsync(server);
        var first = await HeatAsync(service);
        Assert.False(first.IsRepeat);

        // A minute after its half hour, and after that of the repeat.
        for (var time = 0; time < 2; time++)
        {
            await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 27)]);
            Assert.True(service.IsQuiet, "before it ceased to be news");
            await StandingNewsTests.ReadAsync(server, 53, 53, 53, 53);
            var again = await HeatAsync(service);
            Assert.Equal((first.Id, first.Tag, true), (again.Id, again.Tag, again.IsRepeat));
            Assert.StartsWith("Since 12:02. The ground is at 53 °C", again.Body, StringComparison.Ordinal);
            await SentAsync(server);
        }

        Assert.True(await server.Get<Receipts>().ShownAsync(first.Id, Cancel));
        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 64)]);
        Assert.True(service.IsQuiet, "it has shown it");
        Assert.Single(await ToldAsync(server));
    }

    [Fact]
    public async Task A_phone_that_is_off_and_follows_the_spot_no_more_is_sent_nothing_again()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await SaidBeforeThatItShowedAsync(server);
        await WatchTests.TooHotAsync(server);
        await SentAsync(server);
        await HeatAsync(service);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Follows.ExecuteDeleteAsync(Cancel);

        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Repeat(53.0, 34)]);

        Assert.True(service.IsQuiet);
    }

    // Of a spot that has nothing to do with it: its receipts come.
    private static async Task SaidBeforeThatItShowedAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var device = await db.PushSubscriptions.SingleAsync(Cancel);
        var change = new AlertEventRow
        {
            SpotId = QuarrySteps.Id.Value,
            From = AlertState.TooHot,
            To = AlertState.Clear,
            Because = AlertReason.UnderLongEnough,
            Side = AlertSide.Heat,
            At = Noon.AddDays(-1),
            LimitCelsius = 49,
            Notified = true,
        };
        db.AlertEvents.Add(change);
        await db.SaveChangesAsync(Cancel);
        db.Notifications.Add(new NotificationRow
        {
            Id = Guid.NewGuid(),
            EventId = change.Id,
            PersonId = device.PersonId,
            SubscriptionId = device.Id,
            SpotId = QuarrySteps.Id.Value,
            Side = AlertSide.Heat,
            Payload = "{}",
            CreatedAt = Noon.AddDays(-1),
            ExpiresAt = Noon.AddDays(-1).AddMinutes(30),
            NextAttemptAt = Noon.AddDays(-1),
            Standing = NotificationStanding.Sent,
            ShownAt = Noon.AddDays(-1),
        });
        await db.SaveChangesAsync(Cancel);
    }

    /// <summary>The next message that it is too hot.</summary>
    private static async Task<PushMessageBody> HeatAsync(ReceiverHost service)
    {
        while (true)
        {
            var body = PushMessageBody.Of((await service.NextAsync()).Text);
            if (body.State == "tooHot")
                return body;
        }
    }

    private static async Task ComesBackAsync(RunningServer server, ReceiverHost service, HttpClient browser, string walker)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var device = await db.PushSubscriptions.AsNoTracking().SingleAsync(Cancel);
        using var answer = await browser.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint = service.Endpoint(walker), keys = new { p256dh = device.P256dh, auth = device.Auth }, kept = new[] { NorthGate.Id.Value } },
            Cancel);
        Assert.True(answer.IsSuccessStatusCode);
    }

    private static async Task MoveWalkAsync(RunningServer server, int startsInMinutes)
    {
        var start = server.Time.GetUtcNow().AddMinutes(startsInMinutes);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        (await db.Walks.SingleAsync(Cancel)).Start = start;
        await db.SaveChangesAsync(Cancel);
    }

    private static async Task AddWalkAsync(RunningServer server, int startsInMinutes)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var wren = new DogRow { Name = "Wren" };
        db.Dogs.Add(wren);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = wren.Id,
            WalkerId = await db.People.Select(p => p.Id).SingleAsync(Cancel),
            Start = Noon.AddMinutes(startsInMinutes),
            Minutes = 30,
            Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
        });
        await db.SaveChangesAsync(Cancel);
    }

    /// <summary>The next message of what stands.</summary>
    private static async Task<PushMessageBody> StandsAsync(ReceiverHost service)
    {
        while (true)
        {
            var body = PushMessageBody.Of((await service.NextAsync()).Text);
            if (body.Body.StartsWith("Since ", StringComparison.Ordinal))
                return body;
        }
    }

    private static async Task SentAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        while (!await db.Notifications.AnyAsync(n => n.Standing == NotificationStanding.Sent && db.Set<AlertEventRow>().Any(e => e.Id == n.EventId && e.To == AlertState.TooHot), Cancel))
            await Task.Delay(20, Cancel);
    }

    private static async Task<List<string>> ToldAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.Notifications.Where(n => db.Set<AlertEventRow>().Any(e => e.Id == n.EventId && e.To == AlertState.TooHot))
            .Join(db.People, n => n.PersonId, p => p.Id, (n, p) => p.UserName!).ToListAsync(Cancel);
    }

    internal static async Task<HttpClient> PhoneAsync(
        RunningServer server, ReceiverHost service, string walker, params string[] spots)
    {
        var browser = await server.BrowserOfAsync(Role.Walker, walker);
        var (p256dh, auth) = service.Receiver.Add(walker);
        using var answer = await browser.PostAsJsonAsync(
            new Uri("/api/push/subscriptions", UriKind.Relative),
            new { endpoint = service.Endpoint(walker), keys = new { p256dh, auth }, spots },
            Cancel);
        Assert.True(answer.IsSuccessStatusCode);
        return browser;
    }
}
