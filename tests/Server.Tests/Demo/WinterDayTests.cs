using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Database;
using PavementWatch.Server.Demo;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Demo;

/// <summary>
/// The demo's winter day by a clock that the test moves: two weeks of history, a fit of each spot, and what the ground does until noon.
/// Every push is listed as it is read. Readings come every five minutes, as from the broker; Ines follows every spot.
/// </summary>
public sealed class WinterDayTests
{
    private static readonly DemoDay Day = DemoDay.Winter;
    private static readonly TimeSpan Step = TimeSpan.FromMinutes(5);

    // By the rules of the product's design, section 9, and the demo's ground: the second reading at or under 0 °C, the second at or under
    // −10 °C, ten minutes at or over 2 °C. The moments of forecast are our own.
    private static readonly string[] Expected =
    [
        "03:25 Mill Footbridge may be icy from 03:50 | The ground is at 1 °C (35 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.",
        "03:35 Sandpit Corner may be icy from 04:01 | The ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws. As before: Footbridge soon may be icy.",
        "03:50 Orchard Green may be icy from 04:19 | The ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.",
        "04:00 Mill Footbridge freezing | The ground is at 0 °C (32 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws. As before: Sandpit Corner soon may be icy.",
        "04:15 Sandpit Corner freezing | The ground is at 0 °C (32 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws. As before: Footbridge freezing.",
        "04:40 Orchard Green freezing | The ground is at 0 °C (31 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.",
        "04:45 North Gate plaza may be icy from 05:11 | The ground is at 1 °C (33 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws. As before: Orchard Green freezing.",
        "04:50 Quarry Steps may be icy from 05:20 | The ground is at 1 °C (34 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.",
        "05:15 North Gate plaza freezing | The ground is at 0 °C (32 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws. As before: Orchard Green freezing.",
        "05:25 Quarry Steps freezing | The ground is at 0 °C (32 °F), the cold limit is 0 °C (32 °F). Mind ice; rinse salt off paws.",
        "07:35 Mill Footbridge bitterly cold | The ground is at -10 °C (14 °F). Frost can injure pads: keep it short. As before: Sandpit Corner freezing.",
        "09:55 Mill Footbridge no longer freezing | The ground is at 4 °C (39 °F), the cold limit is 0 °C (32 °F). Ice may still lie. As before: Sandpit Corner was freezing, ice may still lie.",
        "09:55 North Gate plaza no longer freezing | The ground is at 4 °C (38 °F), the cold limit is 0 °C (32 °F). Ice may still lie. As before: Orchard Green was freezing, ice may still lie.",
        "10:05 Orchard Green no longer freezing | The ground is at 3 °C (38 °F), the cold limit is 0 °C (32 °F). Ice may still lie.",
        "10:05 Sandpit Corner no longer freezing | The ground is at 4 °C (38 °F), the cold limit is 0 °C (32 °F). Ice may still lie.",
        "11:15 Quarry Steps no longer freezing | The ground is at 4 °C (39 °F), the cold limit is 0 °C (32 °F). Ice may still lie.",
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Frost_is_told_before_it_comes_while_it_lasts_and_when_it_is_over_and_nothing_else()
    {
        var ground = new DemoGround(Day, DemoTown.Spots, Day.Morning.AddDays(-DemoTown.PastDays));
        await using var service = await ReceiverHost.StartAsync();
        var settings = new Dictionary<string, string?>(service.AsAllowed) { ["Watch:Interval"] = "00:05:00", ["Watch:Tick"] = "00:05:00" };
        await using var server = await RunningServer.StartAsync(time: new FakeTimeProvider(Day.Morning), settings: settings, spots: []);
        var people = await ActivatorUtilities.CreateInstance<DemoSeed>(server.App.Services)
            .FillAsync(Day, ground, DemoTown.Gateways.ToDictionary(gateway => gateway, _ => "secret"), Cancel);
        await server.Get<FitRunner>().RunAsync(null, null, Cancel);
        var (p256dh, auth) = service.Receiver.Add("Ines");
        Assert.Empty(await server.Get<Subscriptions>().AddAsync(
            people.InesId, service.Endpoint("Ines"), p256dh, auth, [.. DemoTown.Spots.Select(s => s.Spot.Id.Value)], Cancel));

        var story = new List<PushMessageBody>();
        await LiveAsync(server, service, ground, story, Day.Midnight.AddHours(12));
        await WhatIsSaidOfIceIsOneAsync(server);

        var told = story.Select(p => $"{Day.Local(p.At):HH:mm} {p.Title} | {p.Body.Replace("\n", " / ", StringComparison.Ordinal)}").ToList();
        Assert.All(story, push => Assert.Equal(AlertSide.Cold, push.Side));
        Assert.All(story, push => NothingIsCalledWarmThatFreezes(push, ground));
        Assert.True(Expected.SequenceEqual(told), $"it came otherwise:{Environment.NewLine}{string.Join(Environment.NewLine, told)}");
        foreach (var spot in DemoTown.Spots.Select(s => s.Spot))
        {
            var shown = server.Get<SpotBoard>().Find(spot.Id)!;
            Assert.True(shown.Standing.Count == 0 && shown.SurfaceCelsius > 2, $"not over by noon: {shown}");
        }

        // The last ice is on the steps, which thaw last.
        await LiveAsync(server, service, ground, story, Day.Midnight.AddHours(15));
        Assert.Equal(Expected.Length, story.Count);
        await WhatIsSaidOfIceIsOneAsync(server);
        Assert.All(DemoTown.Spots, s => Assert.False(server.Get<SpotBoard>().Find(s.Spot.Id)!.MayBeIcy, s.Spot.Name));
    }

    [Fact]
    public async Task A_forecast_that_lags_behind_the_thaw_tells_of_no_frost()
    {
        var ground = new DemoGround(Day, DemoTown.Spots, Day.Morning.AddDays(-DemoTown.PastDays));
        await using var service = await ReceiverHost.StartAsync();
        var settings = new Dictionary<string, string?> { ["Watch:Interval"] = "00:05:00", ["Watch:Tick"] = "00:01:00" };
        await using var server = await RunningServer.StartAsync(time: new FakeTimeProvider(Day.Morning), settings: settings, spots: []);
        await ActivatorUtilities.CreateInstance<DemoSeed>(server.App.Services)
            .FillAsync(Day, ground, DemoTown.Gateways.ToDictionary(gateway => gateway, _ => "secret"), Cancel);
        await server.Get<FitRunner>().RunAsync(null, null, Cancel);
        await LiveAsync(server, service, ground, [], Day.Midnight.AddHours(9.5));
        var thaw = server.Time.GetUtcNow();
        await LiveAsync(server, service, ground, [], Day.Midnight.AddHours(10.3), TimeSpan.FromMinutes(1));

        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var since = await db.AlertEvents.AsNoTracking().Where(e => e.Side == AlertSide.Cold && e.At > thaw).ToListAsync(Cancel);
        Assert.Contains(since, e => e is { SpotId: "mill-footbridge", Because: AlertReason.UnderLongEnough });
        Assert.DoesNotContain(since, e => AlertDecision.IsRise(e.Because));
    }

    /// <summary>Card and day say the same: ground that froze may be icy until three hours after it was last at 3 °C or under.</summary>
    private static async Task WhatIsSaidOfIceIsOneAsync(RunningServer server)
    {
        var now = server.Time.GetUtcNow();
        foreach (var spot in DemoTown.Spots.Select(s => s.Spot))
        {
            var shown = server.Get<SpotBoard>().Find(spot.Id)!;
            var day = (await server.Get<ISpotDays>().DayAsync(spot.Id, DateOnly.FromDateTime(Day.Local(now)), Cancel))!;
            Assert.Equal(shown.MayBeIcy, day.Icy.Any(s => s.From <= now && s.To >= now));
            Assert.False(shown is { MayBeIcy: true, Word: GroundWord.Comfortable }, $"{shown}");
            var (froze, thawed) = (day.Points.First(p => p.SurfaceCelsius <= 0).At, day.Points.Last(p => p.SurfaceCelsius < 3 && p.At <= now).At);
            Assert.Contains(day.Icy, s => s.From <= froze + TimeSpan.FromHours(1) && s.To >= (thawed + TimeSpan.FromHours(3) < now ? thawed + TimeSpan.FromHours(3) : now));
        }
    }

    private static async Task LiveAsync(RunningServer server, ReceiverHost service, DemoGround ground, List<PushMessageBody> story, DateTimeOffset until, TimeSpan? every = null)
    {
        var watch = server.App.Services.GetServices<IHostedService>().OfType<WatchService>().Single();
        var number = server.Time.GetUtcNow().ToUnixTimeSeconds();
        var kept = new List<Reading>();
        while (server.Time.GetUtcNow() < until)
        {
            var before = server.Time.GetTimestamp();
            server.Time.Advance(every ?? Step);
            await server.LookedAfterAsync(before);
            await TellAsync(server, service, story);

            var now = server.Time.GetUtcNow();
            foreach (var gateway in DemoTown.Gateways)
            {
                List<Reading> readings = [.. DemoTown.Spots.Where(s => s.Gateway == gateway).Select(s => ReadingOf(s, ground, now))];
                if (gateway == DemoTown.GatewayThatGoesSilent && now > Day.SilentFrom)
                {
                    // Back, it delivers what waited.
                    if (now <= Day.SilentTo)
                    {
                        kept.AddRange(readings);
                        continue;
                    }

                    readings.InsertRange(0, kept);
                    kept.Clear();
                }

                var stepped = watch.Stepped;
                var current = readings.Count(r => r.MeasuredAt == now);
                await server.Get<IngestPipeline>().AcceptAsync(
                    GatewayId.Parse(gateway), ReadingPack.Write(readings), new PackOrigin(new PackNumber($"boot-{gateway}", ++number), TimeSpan.Zero, false));
                await Patience.UntilAsync(() => watch.Stepped >= stepped + current, () => $"of the readings of {now:O} {watch.Stepped - stepped} are looked at");
            }

            await TellAsync(server, service, story);
        }
    }

    private static Reading ReadingOf(DemoSpot spot, DemoGround ground, DateTimeOffset at)
    {
        var sky = Day.At(at);
        return new Reading(spot.Spot.Id, at)
        {
            SurfaceCelsius = Math.Round(ground.SurfaceCelsius(spot.Spot.Id, at), 2),
            AirCelsius = Math.Round(sky.AirCelsius, 2),
            HumidityPercent = Math.Round(sky.HumidityPercent, 1),
        };
    }

    /// <summary>What came by now, in order, and is shown at once.</summary>
    private static async Task TellAsync(RunningServer server, ReceiverHost service, List<PushMessageBody> story)
    {
        await server.AllSentAsync();
        var came = new List<PushMessageBody>();
        while (!service.IsQuiet)
            came.Add(PushMessageBody.Of((await service.NextAsync()).Text));
        foreach (var id in came.SelectMany(body => body.Told()))
            await server.Get<Receipts>().ShownAsync(id, Cancel);
        story.AddRange(came.OrderBy(body => body.At).ThenBy(body => body.Title, StringComparer.Ordinal));
    }

    /// <summary>Ground that is at or under freezing is neither comfortable nor no longer freezing, nor over its limit.</summary>
    private static void NothingIsCalledWarmThatFreezes(PushMessageBody push, DemoGround ground)
    {
        var said = $"{push.Title}; {push.Body}".Split(';', '\n', '.');
        foreach (var (spot, celsius) in DemoTown.Spots.Select(s => (s.Spot, ground.SurfaceCelsius(s.Spot.Id, push.At))).Where(s => s.Item2 <= 0))
        {
            var name = spot.Name.Split(' ')[^1];
            Assert.DoesNotContain(said, words => words.Contains(name, StringComparison.OrdinalIgnoreCase)
                && (words.Contains("comfortable", StringComparison.Ordinal) || words.Contains("no longer", StringComparison.Ordinal)
                    || words.Contains("warm", StringComparison.Ordinal) || words.Contains("over", StringComparison.Ordinal)));
        }
    }
}
