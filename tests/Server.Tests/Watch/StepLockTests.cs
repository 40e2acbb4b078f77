using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Each spot is watched by itself: one never waits for another, and what is decided together is written together.</summary>
public sealed class StepLockTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_reading_is_shown_while_the_change_of_another_spot_is_being_written()
    {
        var registry = new HeldRegistry();
        await using var server = await StartAsync(services: registry.AddTo);
        await ClearAsync(server, NorthGate, QuarrySteps);

        registry.HoldNext();
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(10), 55), Good(NorthGate, Noon.AddSeconds(20), 56));
        await registry.Arrived;
        await server.MeasureAsync(Good(QuarrySteps, Noon.AddSeconds(30), 41));

        Assert.Equal(41, (await server.SeenAsync(QuarrySteps, s => s.SurfaceCelsius == 41)).SurfaceCelsius);
        Assert.Equal(AlertState.Clear, server.Get<SpotBoard>().Find(NorthGate.Id)!.State);
        registry.Release();
        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
    }

    [Fact]
    public async Task A_reading_is_shown_while_what_a_tick_decided_of_other_spots_is_being_written()
    {
        var registry = new HeldRegistry();
        await using var server = await StartAsync(services: registry.AddTo);
        await ClearAsync(server, NorthGate, QuarrySteps);
        for (var minute = 1; minute <= 2; minute++)
        {
            await server.MinuteAsync(QuarrySteps);
            await server.MeasureAsync(Good(QuarrySteps, Noon.AddMinutes(minute), 41));
            await server.SeenAsync(QuarrySteps, s => s.MeasuredAt == Noon.AddMinutes(minute));
        }

        registry.HoldNext();
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await registry.Arrived;
        await server.MeasureAsync(Good(QuarrySteps, Noon.AddMinutes(3), 42));

        await server.SeenAsync(QuarrySteps, s => s.SurfaceCelsius == 42);
        Assert.Equal(AlertState.Clear, server.Get<SpotBoard>().Find(NorthGate.Id)!.State);
        registry.Release();
        await server.SeenAsync(NorthGate, s => s.State == AlertState.Silent);
    }

    [Fact]
    public async Task What_a_look_decides_of_a_site_stands_before_any_of_it_is_written_and_can_be_told()
    {
        var registry = new HeldRegistry();
        List<Spot> spots = [NorthGate, NorthGate with { Id = SpotId.Parse("north-gate-steps"), Name = "North Gate steps" }];
        await using var server = await StartAsync(spots: spots, services: registry.AddTo);
        await ClearAsync(server, [.. spots]);
        foreach (var spot in spots)
        {
            await server.MeasureAsync(Good(spot, Noon.AddSeconds(1), 55), Good(spot, Noon.AddSeconds(2), 55));
            await server.SeenAsync(spot, s => s.State == AlertState.TooHot);
        }

        for (var minute = 1; minute <= 3; minute++)
            await MinuteOfAllAsync(server, spots);

        registry.HoldNext();
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await registry.Arrived;

        Assert.All(spots.Select(s => server.Get<SpotBoard>().Find(s.Id)!), shown =>
            Assert.Equal((AlertState.TooHot, StandingWarning.SilentHot), (shown.State, Assert.Single(shown.Standing).Warning)));
        registry.Release();
        foreach (var spot in spots)
            await server.SeenAsync(spot, s => s.State == AlertState.Silent);
    }

    [Fact]
    public async Task What_a_tick_decides_of_many_spots_is_written_in_one_transaction()
    {
        var registry = new HeldRegistry();
        List<Spot> spots = [.. Enumerable.Range(0, 12).Select(i => NorthGate with { Id = SpotId.Parse($"spot-{i}"), Name = $"Spot {i}", Site = $"Site {i % 3}" })];
        await using var server = await StartAsync(spots: spots, services: registry.AddTo);
        await ClearAsync(server, [.. spots]);
        await MinuteOfAllAsync(server, spots);
        await MinuteOfAllAsync(server, spots);

        registry.CountAnew();
        await MinuteOfAllAsync(server, spots);

        Assert.Equal(1, registry.Transactions);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(
            spots.Select(s => s.Id.Value).Order(),
            (await db.AlertEvents.Where(e => e.To == AlertState.Silent).Select(e => e.SpotId).ToListAsync(Cancel)).Order());
    }

    [Fact]
    public async Task Of_changes_written_together_each_walker_hears_what_concerns_them()
    {
        await using var server = await StartAsync(settings: new Dictionary<string, string?> { ["Notifications:LoopbackOrigins:0"] = "http://127.0.0.1:9" });
        server.ExpectedErrors = [""];
        var (ines, tobias) = (await PhoneAsync(server, "Ines", NorthGate), await PhoneAsync(server, "Tobias"));
        await WalkAsync(server, tobias, QuarrySteps);
        var store = server.Get<AlertStore>();
        var batch = new AlertBatch();

        var first = store.RecordAsync(QuarrySteps, Memory(1), TooHot(), batch);
        var second = store.RecordAsync(NorthGate, Memory(2), TooHot(), batch);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Empty(await db.AlertEvents.ToListAsync(Cancel));
        batch.Close();
        await store.WriteWaitingAsync();

        Assert.Equal([1, 1], await Task.WhenAll(first, second));
        var changes = await db.AlertEvents.OrderBy(e => e.Id).ToListAsync(Cancel);
        Assert.Equal([(QuarrySteps.Id.Value, 1), (NorthGate.Id.Value, 1)], changes.Select(e => (e.SpotId, e.Walkers)));
        Assert.Equal(
            [(tobias, QuarrySteps.Id.Value, changes[0].Id), (ines, NorthGate.Id.Value, changes[1].Id)],
            (await db.Notifications.OrderBy(n => n.EventId).ToListAsync(Cancel)).Select(n => (n.PersonId, n.SpotId, n.EventId)));
        Assert.Equal((Memory(1), Memory(2)), (await RememberedAsync(db, QuarrySteps), await RememberedAsync(db, NorthGate)));
    }

    [Fact]
    public async Task What_waits_in_a_batch_is_written_before_what_is_decided_after_it()
    {
        await using var server = await StartAsync();
        var store = server.Get<AlertStore>();

        var waiting = store.RecordAsync(QuarrySteps, Memory(1), TooHot(), new AlertBatch());
        await store.RecordAsync(NorthGate, Memory(2), TooHot(), Cancel);

        await waiting;
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal([QuarrySteps.Id.Value, NorthGate.Id.Value], await db.AlertEvents.OrderBy(e => e.Id).Select(e => e.SpotId).ToListAsync(Cancel));
    }

    [Fact]
    public async Task What_is_remembered_before_a_change_never_takes_the_place_of_what_is_remembered_with_it()
    {
        await using var server = await StartAsync();
        var store = server.Get<AlertStore>();
        using var watch = new SpotWatch(NorthGate);
        watch.Begin(null, [], [], [], [], Noon, new AlertRule(), TimeSpan.Zero);
        await watch.StepLock.WaitAsync(Cancel);
        // The step has it written, and has not heard of that yet.
        await store.RecordAsync(NorthGate, Memory(2), TooHot(), Cancel);

        await store.SaveAsync([watch], Cancel);

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(Memory(2), await RememberedAsync(db, NorthGate));
        watch.Memory = Memory(3);
        watch.StepLock.Release();
        await store.SaveAsync([watch], Cancel);
        Assert.Equal(Memory(3), await RememberedAsync(db, NorthGate));
    }

    [Fact]
    public async Task Ticks_and_readings_of_many_spots_do_not_trip_each_other()
    {
        List<Spot> spots = [.. Enumerable.Range(0, 12).Select(i => NorthGate with { Id = SpotId.Parse($"spot-{i}"), Name = $"Spot {i}", Site = i < 10 ? "North Gate" : "" })];
        await using var server = await StartAsync(spots: spots);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        for (var minute = 2; minute < 40; minute++)
        {
            // The first of them is never measured: it asks its neighbours in each tick.
            var at = server.Time.GetUtcNow();
            await server.MeasureAsync(spots.Skip(1).Select(s => Good(s, at, 30 + (minute % 3 == 0 ? 25 : 0) + (minute / 100.0))));
            server.Time.Advance(TimeSpan.FromMinutes(1));
        }

        await server.MeasureAsync(spots.Skip(1).Select(s => Good(s, server.Time.GetUtcNow(), 33)));

        foreach (var spot in spots.Skip(1))
            await server.SeenAsync(spot, s => s.SurfaceCelsius == 33);
        Assert.True((await server.SeenAsync(spots[0], s => s.Estimated)).UpperCelsius > 33);
    }

    [Fact]
    public async Task A_watch_that_is_taken_apart_while_it_runs_ends_its_steps_first()
    {
        var registry = new HeldRegistry();
        await using var server = await StartAsync(services: registry.AddTo);
        await ClearAsync(server, NorthGate);
        var watch = server.App.Services.GetServices<IHostedService>().OfType<WatchService>().Single();
        registry.HoldNext();
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(10), 55), Good(NorthGate, Noon.AddSeconds(20), 56));
        await registry.Arrived;
        // Waits for the step that is being written.
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(30), 57));
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 57);

        var apart = watch.DisposeAsync().AsTask();
        Assert.False(apart.IsCompleted);
        registry.Release();
        await apart;

        Assert.True(watch.ExecuteTask!.IsCompletedSuccessfully, $"{watch.ExecuteTask.Exception}");
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(AlertState.TooHot, (await RememberedAsync(db, NorthGate)).State);
        Assert.Equal(NorthGate.Id.Value, Assert.Single(await db.AlertEvents.Where(e => e.To == AlertState.TooHot).ToListAsync(Cancel)).SpotId);
    }

    /// <summary>Moves the clock a minute on and waits until the watch has looked at every spot.</summary>
    private static async Task MinuteOfAllAsync(RunningServer server, IEnumerable<Spot> spots)
    {
        using var patience = Patience.Token();
        using var listener = server.Get<SpotBoard>().Listen();
        var before = server.Time.GetTimestamp();
        server.Time.Advance(TimeSpan.FromMinutes(1));
        var waitedFor = spots.Select(s => s.Id).ToHashSet();
        while (waitedFor.Count > 0)
            waitedFor.ExceptWith((await listener.NextAsync(patience.Token)).Where(s => s.Now == server.Time.GetUtcNow()).Select(s => s.Id));
        // What was decided is shown before it is written.
        await server.LookedAfterAsync(before);
    }

    private static async Task ClearAsync(RunningServer server, params Spot[] spots)
    {
        await server.MeasureAsync(spots.Select(s => Good(s, Noon, 40)));
        foreach (var spot in spots)
            await server.SeenAsync(spot, s => s.State == AlertState.Clear);
    }

    private static AlertMemory Memory(int hotReadings) => AlertMemory.Start(Noon) with { HotReadings = hotReadings };

    private static AlertDecision TooHot() =>
        new(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, Noon, Notify: true, 50) { LimitCelsius = 49 };

    private static async Task<AlertMemory> RememberedAsync(RegistryDb db, Spot spot) => JsonSerializer.Deserialize<AlertMemory>(
        await db.AlertMemories.AsNoTracking().Where(m => m.SpotId == spot.Id.Value).Select(m => m.Json).SingleAsync(Cancel))!;

    /// <summary>Somebody with a phone.</summary>
    private static async Task<int> PhoneAsync(RunningServer server, string walker, params Spot[] follows)
    {
        var person = await server.Get<PersonStore>().AddAsync(walker, Role.Walker, Cancel);
        var (p256dh, auth) = new PushReceiver(_ => Task.FromResult(201)).Add(walker);
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(person.Id, $"http://127.0.0.1:9/{walker}", p256dh, auth, [.. follows.Select(s => s.Id.Value)], Cancel));
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
        return person.Id;
    }

    private static async Task WalkAsync(RunningServer server, int walker, Spot spot)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow { DogId = pickle.Id, WalkerId = walker, Start = Noon, Minutes = 30, Spots = [new WalkSpotRow { SpotId = spot.Id.Value }] });
        await db.SaveChangesAsync(Cancel);
    }
}
