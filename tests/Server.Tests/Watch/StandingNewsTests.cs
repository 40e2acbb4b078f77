using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>What stands is told to whom it concerns from now on, of heat and of cold each for itself.</summary>
public sealed class StandingNewsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Heat_that_stands_is_told_to_who_comes_after_the_cold_was_called_off()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        await FrostThenHeatAsync(server);

        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await server.MinuteAsync(NorthGate);

        var body = PushMessageBody.Of((await service.NextAsync()).Text);
        Assert.Equal(("North Gate plaza too hot", AlertSide.Heat, "tooHot"), (body.Title, body.Side, body.State));
    }

    [Fact]
    public async Task A_card_says_why_it_is_hot_and_not_that_frost_is_over_also_after_a_restart()
    {
        var folder = Directory.CreateTempSubdirectory("pw-standing-").FullName;
        DateTimeOffset now;
        await using (var server = await StartAsync(folder))
        {
            await FrostThenHeatAsync(server);
            now = server.Time.GetUtcNow();
            Assert.Contains("North Gate plaza is too hot", Because(server), StringComparison.Ordinal);
        }

        await using (var server = await StartAsync(folder, new FakeTimeProvider(now)))
        {
            await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
            Assert.Contains("North Gate plaza is too hot", Because(server), StringComparison.Ordinal);
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Freezing_that_stands_is_told_once_to_who_comes_also_after_a_restart()
    {
        var folder = Directory.CreateTempSubdirectory("pw-standing-").FullName;
        await using var service = await ReceiverHost.StartAsync();
        DateTimeOffset now;
        await using (var server = await StartAsync(folder, settings: service.AsAllowed))
        {
            await ReadAsync(server, 3, -1, -1.5, -2);
            using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
            await server.MinuteAsync(NorthGate);

            var body = PushMessageBody.Of((await service.NextAsync()).Text);
            Assert.Equal(("North Gate plaza freezing", AlertSide.Cold, "tooCold"), (body.Title, body.Side, body.State));
            Assert.Equal(
                "Since 12:02. The ground is at -2 °C (28 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.", body.Body);
            await Patience.UntilAsync(async () => (await MessagesAsync(server)).Any(n => n.Standing == NotificationStanding.Sent), () => "it is not written that it was sent");
            now = server.Time.GetUtcNow().AddMinutes(1);
        }

        await using (var server = await StartAsync(folder, new FakeTimeProvider(now), settings: service.AsAllowed))
        {
            await ReadAsync(server, -2.5, -2.6, -2.7);
            Assert.Equal(AlertSide.Cold, Assert.Single(await MessagesAsync(server)).Side);
            Assert.True(service.IsQuiet);
        }

        Directory.Delete(folder, recursive: true);
    }

    /// <summary>A minute for each reading; each is seen before the next.</summary>
    internal static async Task ReadAsync(RunningServer server, params double[] celsius)
    {
        foreach (var value in celsius)
        {
            var at = server.Time.GetUtcNow();
            await server.MeasureAsync(Good(NorthGate, at, value, air: 10));
            await server.SeenAsync(NorthGate, s => s.MeasuredAt == at);
            await server.MinuteAsync(NorthGate);
        }
    }

    private static string Because(RunningServer server) => SpotNowJson.Of(server.Get<Server.Watch.SpotBoard>().Find(NorthGate.Id)!, TemperatureUnit.Both).Because;

    // A frosty dawn and a grate in the sun, hurried: what is told last is that the frost is over.
    private static async Task FrostThenHeatAsync(RunningServer server)
    {
        await ReadAsync(server, 3, -1, -1, 52, 52);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        for (var minute = 0; minute < 40; minute++)
        {
            var last = await db.AlertEvents.AsNoTracking().Where(e => e.Notified).OrderBy(e => e.Id).LastAsync(Cancel);
            if ((last.Side, last.Because) == (AlertSide.Cold, AlertReason.UnderLongEnough))
                return;
            await ReadAsync(server, 52);
        }

        Assert.Fail("the frost is not called off");
    }

    private static async Task<List<NotificationRow>> MessagesAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.Notifications.AsNoTracking().ToListAsync(Cancel);
    }
}
