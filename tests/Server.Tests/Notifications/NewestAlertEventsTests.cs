using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Notifications;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Notifications;

public sealed class NewestAlertEventsTests
{
    // Of no change that the server makes by itself.
    private const double Limit = 41.25;

    [Fact]
    public async Task Of_each_spot_and_side_the_last_change_is_found()
    {
        await using var server = await StartAsync(spots: [NorthGate, QuarrySteps]);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(TestContext.Current.CancellationToken);
        AlertEventRow[] rows =
        [
            Row(NorthGate, AlertSide.Heat), Row(NorthGate, AlertSide.Cold), Row(QuarrySteps, AlertSide.Cold), Row(NorthGate, AlertSide.Heat), Row(QuarrySteps, AlertSide.Cold),
            Row(NorthGate, AlertSide.Heat, isTold: false),
        ];
        foreach (var row in rows)
        {
            db.AlertEvents.Add(row);
            await db.SaveChangesAsync(TestContext.Current.CancellationToken);
        }

        var all = db.AlertEvents.Where(e => e.LimitCelsius == Limit);
        Assert.Equal([rows[1].Id, rows[4].Id, rows[5].Id], (await all.NewestIds().ToListAsync(TestContext.Current.CancellationToken)).Order());
        Assert.Equal([rows[1].Id, rows[3].Id, rows[4].Id], (await all.Where(e => e.Notified).NewestIds().ToListAsync(TestContext.Current.CancellationToken)).Order());
    }

    private static AlertEventRow Row(Spot spot, AlertSide side, bool isTold = true) => new()
    {
        SpotId = spot.Id.Value,
        From = AlertState.Clear,
        To = AlertState.TooHot,
        Because = AlertReason.ReadingsOverLimit,
        Side = side,
        At = Noon,
        LimitCelsius = Limit,
        Notified = isTold,
    };
}
