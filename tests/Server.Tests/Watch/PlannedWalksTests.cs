using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>An all-clear holds for as long as the longest walk that is planned.</summary>
public sealed class PlannedWalksTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(0, 60)]
    [InlineData(45, 60)]
    [InlineData(90, 90)]
    [InlineData(600, 240)]
    public void An_all_clear_holds_for_the_longer_of_setting_and_walk(int walkMinutes, int holdsMinutes) => Assert.Equal(
        TimeSpan.FromMinutes(holdsMinutes), new WatchOptions().Rule(NorthGate, TimeSpan.FromMinutes(walkMinutes)).AllClearHolds);

    [Theory]
    [InlineData(null, true)]
    [InlineData(30, true)]
    [InlineData(200, false)]
    public async Task Who_plans_a_long_walk_is_not_told_that_it_is_over_while_the_sun_may_still_bring_it_back(int? walkMinutes, bool told)
    {
        // 19:15 in Ferngate; the sun sets at about 20:50.
        await using var server = await StartAsync(time: new FakeTimeProvider(Noon.AddHours(7.25)));
        if (walkMinutes is { } minutes)
            await AddWalkAsync(server, minutes);
        await StandingNewsTests.ReadAsync(server, 40, 50, 50);
        await StandingNewsTests.ReadAsync(server, [.. Enumerable.Range(0, 15).Select(i => 39 - (0.05 * i))]);

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var changes = await db.AlertEvents.Where(e => e.SpotId == NorthGate.Id.Value && e.Side == AlertSide.Heat).OrderBy(e => e.Id).Select(e => e.Because).ToListAsync(Cancel);
        Assert.Contains(AlertReason.ReadingsOverLimit, changes);
        Assert.Equal(told, changes.Contains(AlertReason.UnderLongEnough));
    }

    private static async Task AddWalkAsync(RunningServer server, int minutes)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var wren = new DogRow { Name = "Wren" };
        db.Dogs.Add(wren);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = wren.Id,
            WalkerId = null,
            Start = server.Time.GetUtcNow().AddMinutes(30),
            Minutes = minutes,
            Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
        });
        await db.SaveChangesAsync(Cancel);
    }
}
