using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A rise that was told and does not come.</summary>
public sealed class RiseCalledOffTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Who_was_told_that_it_is_rising_hears_that_it_does_not_come_and_nobody_else()
    {
        await using var service = await ReceiverHost.StartAsync();
        // Ten in the evening at the spot: no sun brings it there.
        await using var server = await StartAsync(time: new FakeTimeProvider(Noon.AddHours(10)), settings: service.AsAllowed);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        using var tobias = await WhoIsToldTests.PhoneAsync(server, service, "Tobias", NorthGate.Id.Value);
        await StandingNewsTests.ReadAsync(server, 42.75, 43, 43.25, 43.5, 43.75);
        var told = new HashSet<string>();
        while (told.Count < 2)
        {
            var arrival = await service.NextAsync();
            Assert.Equal("North Gate plaza soon too hot", PushMessageBody.Of(arrival.Text).Title);
            told.Add(arrival.Device);
        }

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await Patience.UntilAsync(async () => await db.Notifications.CountAsync(n => n.Standing == NotificationStanding.Sent, Cancel) == 2, () => "it is not written that it was sent");
        // As if his push service had refused it for good.
        var person = await db.People.Where(p => p.UserName == "Tobias").Select(p => p.Id).SingleAsync(Cancel);
        await db.Notifications.Where(n => n.PersonId == person).ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Failed), Cancel);

        // As slowly as is no frost to come.
        for (var minute = 1; minute < 60 && !await db.AlertEvents.AnyAsync(e => e.Because == AlertReason.RiseCalledOff, Cancel); minute++)
            await StandingNewsTests.ReadAsync(server, Math.Max(36, 43.75 - (0.25 * minute)));
        var off = await service.NextAsync();
        var body = PushMessageBody.Of(off.Text);
        Assert.Equal(("Ines", "North Gate plaza no longer expected to pass its limit", "clear"), (off.Device, body.Title, body.State));
        Assert.Matches("^The ground is at [0-9]+ °C \\([0-9]+ °F\\), the limit is 49 °C \\(120 °F\\)\\. Test it yourself\\.$", body.Body);

        await StandingNewsTests.ReadAsync(server, 36, 36, 36);
        Assert.True(service.IsQuiet);
        Assert.Equal(1, await db.AlertEvents.CountAsync(e => e.Because == AlertReason.RiseCalledOff, Cancel));
    }
}
