using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>What a walker's page says of alerts by their walks.</summary>
public sealed class VisitorAlertsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(null, false)]
    [InlineData(26.0, true)]
    [InlineData(-0.25, true)]
    [InlineData(-3.0, false)] // Over for longer than an hour.
    public async Task Who_has_no_walk_to_come_is_offered_spots_to_follow(double? startsInHours, bool hasWalks)
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker, "Ines");
        if (startsInHours is { } hours)
            await WalkAsync();

        var page = await browser.GetStringAsync(new Uri("/", UriKind.Relative), Cancel);

        Assert.Contains($"data-walks=\"{(hasWalks ? "yes" : "no")}\"", page, StringComparison.Ordinal);
        Assert.Equal(!hasWalks, page.Contains("data-alert-all=\"north-gate-plaza\"", StringComparison.Ordinal));

        async Task WalkAsync()
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            var pickle = new DogRow { Name = "Pickle" };
            db.Dogs.Add(pickle);
            await db.SaveChangesAsync(Cancel);
            db.Walks.Add(new WalkRow
            {
                DogId = pickle.Id,
                WalkerId = (await db.People.SingleAsync(p => p.UserName == "Ines", Cancel)).Id,
                Start = Noon.AddHours(hours),
                Minutes = 30,
                Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
            });
            await db.SaveChangesAsync(Cancel);
        }
    }
}
