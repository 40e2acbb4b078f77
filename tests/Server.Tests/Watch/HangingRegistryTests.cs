using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A registry that hangs without an error: heat is told all the same, once, and looks go on.</summary>
public sealed class HangingRegistryTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_warning_is_told_from_memory_and_not_again_when_its_write_comes_through(bool atItsCommit)
    {
        await using var service = await ReceiverHost.StartAsync();
        var registry = new HeldRegistry();
        await using var server = await StartAsync(settings: service.AsAllowed, services: registry.AddTo);
        // What else is to be written waits for the commit that hangs.
        server.ExpectedErrors = [""];
        var ines = await server.Get<PersonStore>().AddAsync("Ines", Role.Walker, Cancel);
        var (p256dh, auth) = service.Receiver.Add("phone");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(ines.Id, service.Endpoint("phone"), p256dh, auth, [NorthGate.Id.Value], Cancel));
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
        if (atItsCommit)
            registry.HoldNextCommit();
        else
            registry.HoldNext();

        var now = server.Time.GetUtcNow();
        var recorded = server.Get<AlertStore>().RecordAsync(
            NorthGate, AlertMemory.Start(now), new AlertDecision(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, now, Notify: true, 50) { LimitCelsius = 49 }, Cancel);
        await registry.Arrived;

        Assert.Equal("tooHot", PushMessageBody.Of((await service.NextAsync()).Text).State);
        Assert.Null(await recorded);
        Assert.Contains(server.Get<ServiceFaults>().Standing, fault => fault.Key == UnwrittenAlerts.Fault);

        registry.Release();
        await Patience.UntilAsync(
            async () =>
            {
                server.Later(TimeSpan.FromSeconds(30));
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                return server.Get<ServiceFaults>().Standing.All(fault => fault.Key != UnwrittenAlerts.Fault)
                    && await db.Notifications.AnyAsync(n => n.Standing == NotificationStanding.Sent, Cancel);
            },
            () => "it is not written");
        await using var written = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var change = Assert.Single(await written.AlertEvents.Where(e => e.To == AlertState.TooHot).ToListAsync(Cancel));
        var message = Assert.Single(await written.Notifications.ToListAsync(Cancel));
        Assert.Equal((change.Id, 1, NotificationStanding.Sent), (message.EventId, change.Walkers, message.Standing));
        Assert.True(service.IsQuiet);
    }

    [Fact]
    public async Task A_push_that_failed_is_tried_again_while_the_write_hangs()
    {
        await using var service = await ReceiverHost.StartAsync();
        var registry = new HeldRegistry();
        await using var server = await StartAsync(settings: service.AsAllowed, services: registry.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, service);
        service.AnswerNextWith(503);
        await HangAsync(server, registry);
        await service.NextAsync();

        server.Later(TimeSpan.FromMinutes(1));

        Assert.Equal("tooHot", PushMessageBody.Of((await service.NextAsync()).Text).State);
        registry.Release();
        await WrittenAsync(server);
        Assert.True(service.IsQuiet);
    }

    [Theory]
    [InlineData(503, false)]
    [InlineData(null, true)]
    public async Task The_business_hears_once_of_a_warning_that_no_phone_takes_while_the_write_hangs(int? pushAnswer, bool looksHang)
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var hook = await WebhookHost.StartAsync();
        var registry = new HeldRegistry();
        await using var server = await StartAsync(
            settings: new Dictionary<string, string?>(service.AsAllowed) { ["Notifications:Business:WebhookUrl"] = hook.Address }, services: registry.AddTo);
        server.ExpectedErrors = [""];
        await AddPhoneAsync(server, service);
        service.AnswerAllWith = pushAnswer;
        if (looksHang)
            registry.HoldLooksForDevices();
        await HangAsync(server, registry);

        // Its first telling has ended before it is late.
        server.Later(TimeSpan.FromMinutes(1));
        for (var attempt = 0; attempt < 2 && !looksHang; attempt++)
            await service.NextAsync();
        server.Later(TimeSpan.FromMinutes(1));

        await UnseenAsync(hook);
        registry.Release();
        // The row of the write that hung says that nobody has shown it.
        await Patience.UntilAsync(
            async () =>
            {
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                return await db.AlertEvents.AnyAsync(Cancel);
            },
            () => "the write that hung does not come through");
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        await WrittenAsync(server);
        await server.Get<UnseenWarnings>().PassAsync(Cancel);
        await using var written = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var notice = Assert.Single(await written.BusinessNotices.Where(n => n.EventId != null).ToListAsync(Cancel));
        Assert.Equal(NotificationStanding.Sent, notice.Standing);
        while (!hook.IsQuiet)
            Assert.DoesNotContain("alert.unseen", (await hook.NextAsync()).Body, StringComparison.Ordinal);
        var now = server.Time.GetUtcNow();
        await server.Get<AlertStore>().RecordAsync(
            QuarrySteps, AlertMemory.Start(now), new AlertDecision(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, now, Notify: true, 50) { LimitCelsius = 49 }, Cancel);
    }

    [Fact]
    public async Task Other_spots_are_watched_too_and_looks_end_while_one_write_hangs()
    {
        var registry = new HeldRegistry();
        await using var server = await StartAsync(services: registry.AddTo);
        server.ExpectedErrors = [""];
        foreach (var spot in (Spot[])[NorthGate, QuarrySteps])
        {
            await server.MeasureAsync(Good(spot, Noon, 40));
            await server.SeenAsync(spot, s => s.State == AlertState.Clear);
        }

        registry.HoldNext();
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(10), 55), Good(NorthGate, Noon.AddSeconds(20), 56));
        await registry.Arrived;
        await server.MeasureAsync(Good(QuarrySteps, Noon.AddSeconds(10), 55), Good(QuarrySteps, Noon.AddSeconds(20), 56));

        await server.SeenAsync(NorthGate, s => s.State == AlertState.TooHot);
        await server.SeenAsync(QuarrySteps, s => s.State == AlertState.TooHot);
        await server.MinuteAsync(NorthGate);

        registry.Release();
        await Patience.UntilAsync(
            async () =>
            {
                await server.MinuteAsync(NorthGate);
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                return await db.AlertEvents.CountAsync(e => e.To == AlertState.TooHot, Cancel) == 2
                    && server.Get<ServiceFaults>().Standing.All(fault => fault.Key != UnwrittenAlerts.Fault);
            },
            () => "the changes are not written");
    }

    /// <summary>Ines's phone, which follows North Gate plaza.</summary>
    private static async Task AddPhoneAsync(RunningServer server, ReceiverHost service)
    {
        var ines = await server.Get<PersonStore>().AddAsync("Ines", Role.Walker, Cancel);
        var (p256dh, auth) = service.Receiver.Add("phone");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(ines.Id, service.Endpoint("phone"), p256dh, auth, [NorthGate.Id.Value], Cancel));
        _ = await server.Get<VapidKeys>().GetAsync(Cancel);
    }

    /// <summary>It is too hot at North Gate plaza, and the registry hangs.</summary>
    private static async Task HangAsync(RunningServer server, HeldRegistry registry)
    {
        registry.HoldNext();
        var now = server.Time.GetUtcNow();
        Assert.Null(await server.Get<AlertStore>().RecordAsync(
            NorthGate, AlertMemory.Start(now), new AlertDecision(AlertState.Clear, AlertState.TooHot, AlertReason.ReadingsOverLimit, now, Notify: true, 50) { LimitCelsius = 49 }, Cancel));
    }

    private static Task WrittenAsync(RunningServer server) => Patience.UntilAsync(
        () => server.Get<ServiceFaults>().Standing.All(fault => fault.Key != UnwrittenAlerts.Fault),
        () => "it is not written",
        () => server.Later(TimeSpan.FromSeconds(30)));

    private static async Task UnseenAsync(WebhookHost hook)
    {
        while (!(await hook.NextAsync()).Body.Contains("alert.unseen", StringComparison.Ordinal))
        {
        }
    }
}
