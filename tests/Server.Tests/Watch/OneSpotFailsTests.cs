using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>What one spot's watch trips over stops no other, is named, and is made up for.</summary>
public sealed class OneSpotFailsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Spot_that_cannot_be_loaded_is_unknown_and_named_while_the_others_warn()
    {
        await using var server = await StartAsync(spots: []);
        server.ExpectedError = "watch of quarry-steps";
        await server.Get<SpotStore>().AddSpotAsync(QuarrySteps, Cancel);
        await ExecuteAsync(server, "INSERT INTO AlertMemories (SpotId, Json, SavedAt) VALUES ('quarry-steps', '{damaged', 0)");
        await server.Get<SpotStore>().AddSpotAsync(NorthGate, Cancel);
        await server.MeasureAsync(Good(QuarrySteps, Noon, 30));

        await WatchTests.TooHotAsync(server);

        Assert.Equal(GroundWord.Unknown, server.Get<SpotBoard>().Find(QuarrySteps.Id)?.Word);
        var fault = Assert.Single(server.Get<ServiceFaults>().Standing);
        Assert.Equal("watch.quarry-steps", fault.Key);
        Assert.Contains("Quarry Steps", fault.Words, StringComparison.Ordinal);

        await ExecuteAsync(server, "DELETE FROM AlertMemories WHERE SpotId = 'quarry-steps'");
        await server.MinuteAsync(QuarrySteps);
        await server.MeasureAsync(Good(QuarrySteps, server.Time.GetUtcNow(), 31));
        Assert.Equal(GroundWord.Comfortable, (await server.SeenAsync(QuarrySteps, s => s.SurfaceCelsius == 31)).Word);
        Assert.Empty(server.Get<ServiceFaults>().Standing);
    }

    [Fact]
    public async Task Reading_whose_step_failed_is_shown_at_once_and_stepped_again()
    {
        await using var server = await StartAsync(settings: new Dictionary<string, string?>
        {
            // It says the provoked refusal twice; the watch's own words count here.
            ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "None",
        });
        server.ExpectedError = "watch of north-gate-plaza";
        await server.MeasureAsync(Good(NorthGate, Noon, 40));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);
        await ExecuteAsync(server, "CREATE TRIGGER Full BEFORE INSERT ON AlertEvents BEGIN SELECT RAISE(ABORT, 'database or disk is full'); END");
        for (var i = 0; i < 3; i++)
        {
            server.Time.Advance(TimeSpan.FromMinutes(1));
            await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 55 + i));
            var shown = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 55 + i);
            Assert.Equal(GroundWords.For(55 + i, shown.LimitCelsius), shown.Word);
        }

        await ExecuteAsync(server, "DROP TRIGGER Full");
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Single(await db.AlertEvents.Where(e => e.To == AlertState.TooHot).ToListAsync(Cancel));
        Assert.DoesNotContain(server.Get<ServiceFaults>().Standing, f => f.Key == "watch.north-gate-plaza");
    }

    [Fact]
    public async Task Spot_whose_estimate_fails_is_no_comfortable_one_by_a_reading_in_doubt()
    {
        await using var server = await StartAsync();
        server.ExpectedError = "watch of north-gate-plaza";
        await server.MeasureAsync(Good(NorthGate, Noon, 40));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);
        // No grid of weather has steps without length.
        var broken = new OffsetModel(new OffsetOptions()).Prior(NorthGate, Noon) with { Id = "broken", StepMinutes = 0 };
        await server.Get<FitStore>().AddAsync(broken, FitStanding.InUse, "made to fail", Cancel);
        for (var minute = 0; minute < 3; minute++)
            Assert.True((await server.MinuteAsync(NorthGate)).WatchFails);

        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 36) with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Spike });
        // Its step succeeds.
        var now = await server.SeenAsync(NorthGate, s => s is { SurfaceCelsius: 36, WatchFails: false });

        Assert.Equal((false, GroundWord.Unknown, null), (now.Estimated, now.Word, now.ContactTime));
    }

    [Fact]
    public async Task Spot_whose_change_cannot_be_written_stops_none_of_those_decided_with_it()
    {
        await using var server = await StartAsync(settings: new Dictionary<string, string?> { ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "None" });
        server.ExpectedError = "watch of north-gate-plaza";
        await server.MeasureAsync(Good(NorthGate, Noon, 40), Good(QuarrySteps, Noon, 40));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Clear);
        await server.SeenAsync(QuarrySteps, s => s.State == AlertState.Clear);
        await ExecuteAsync(server, "CREATE TRIGGER Refused BEFORE INSERT ON AlertEvents WHEN NEW.SpotId = 'north-gate-plaza' BEGIN SELECT RAISE(ABORT, 'not this one'); END");

        // Both fall silent in one tick.
        for (var minute = 1; minute <= 3; minute++)
            await server.MinuteAsync(QuarrySteps);

        await server.SeenAsync(QuarrySteps, s => s.State == AlertState.Silent);
        await Patience.UntilAsync(
            () => server.Get<ServiceFaults>().Standing.Any(f => f.Key == "watch.north-gate-plaza"), () => "the spot that fails is not named");
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(["quarry-steps"], await db.AlertEvents.Where(e => e.To == AlertState.Silent).Select(e => e.SpotId).ToListAsync(Cancel));

        await ExecuteAsync(server, "DROP TRIGGER Refused");
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Silent);
        Assert.Empty(server.Get<ServiceFaults>().Standing);
    }

    private static async Task ExecuteAsync(RunningServer server, string sql)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        await db.Database.ExecuteSqlRawAsync(sql.Replace("{", "{{", StringComparison.Ordinal), Cancel);
    }
}
