using System.Net;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Plausibility;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A watch that hangs says nothing of itself: others look whether it looks.</summary>
public sealed class LateLooksTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Where_no_look_ends_for_three_ticks_nothing_stays_comfortable_ice_stays_and_health_is_not_ready()
    {
        HangingStore? store = null;
        await using var server = await StartAsync(services: services => HangingStore.In(services, made => store = made));
        server.ExpectedErrors = [""];
        await server.MeasureAsync(Good(NorthGate, Noon, 30));
        await server.SeenAsync(NorthGate, s => s.Word == GroundWord.Comfortable);
        // Damp.
        await server.MeasureAsync(Good(QuarrySteps, Noon, -4, air: 1) with { HumidityPercent = 95 });
        var icy = await server.SeenAsync(QuarrySteps, s => s is { MayBeIcy: true, IcySince: not null });
        await server.MinuteAsync(NorthGate);
        using var page = server.Get<SpotBoard>().Listen();

        // Its last days are asked for in the next look, which does not end.
        var added = QuarrySteps with { Id = SpotId.Parse("mill-footbridge"), Name = "Mill Footbridge" };
        store!.Hang();
        await server.Get<SpotStore>().AddSpotAsync(added, Cancel);
        server.Time.Advance(TimeSpan.FromMinutes(1));
        await Patience.UntilAsync(() => store.Asked.Contains(added.Id), () => "nobody looks");
        server.Time.Advance(TimeSpan.FromMinutes(3));

        using var patience = Patience.Token();
        while (!(await page.NextAsync(patience.Token)).Any(s => s.Id == NorthGate.Id && s.WatchFails))
        {
        }

        var shown = server.Get<SpotBoard>().Find(NorthGate.Id)!;
        Assert.Equal((true, GroundWord.Unknown, null, Noon), (shown.WatchFails, shown.Word, shown.SurfaceCelsius, shown.MeasuredAt));
        var steps = server.Get<SpotBoard>().Find(QuarrySteps.Id)!;
        Assert.Equal((true, GroundWord.Unknown, true, icy.IcySince), (steps.WatchFails, steps.Word, steps.MayBeIcy, steps.IcySince));
        Assert.Contains(server.Get<ServiceFaults>().Standing, fault => fault.Key == WatchService.Fault);
        using var browser = server.Browser();
        using (var health = await browser.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel))
            Assert.Equal(HttpStatusCode.ServiceUnavailable, health.StatusCode);

        store.LetGo();
        await server.SeenAsync(NorthGate, s => !s.WatchFails);
        await Patience.UntilAsync(
            () => server.Get<ServiceFaults>().Standing.All(fault => fault.Key != WatchService.Fault), () => "the fault does not end");
    }
}
