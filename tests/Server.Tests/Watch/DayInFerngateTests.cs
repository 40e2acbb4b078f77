using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Walks;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>
/// An invented day and the morning after it: a van's shade, a shower, a gap of cloud, a walk at two, an outage overnight. Every push
/// is listed as it is read. Readings come every five minutes, as from the broker.
/// </summary>
public sealed class DayInFerngateTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");
    private static readonly TimeSpan Step = TimeSpan.FromMinutes(5);
    private static readonly DateTimeOffset Midnight = new(2026, 7, 14, 5, 0, 0, TimeSpan.Zero); // by Ferngate's clock

    private static readonly Spot Steps = NorthGate with { Id = SpotId.Parse("north-gate-steps"), Name = "North Gate steps", Surface = SurfaceKind.ConcretePale };
    private static readonly Spot Green = NorthGate with { Id = SpotId.Parse("orchard-green"), Name = "Orchard Green", Surface = SurfaceKind.Grass };

    private const double ShowerFrom = 13.3;
    private const double ShowerTo = 13.7;

    // [°C] The plaza by hour of the day.
    private static readonly (double Hour, double Celsius)[] Plaza =
    [
        (0, 29), (5, 24), (8, 31), (10, 43), (11, 48.5), (12, 54), (13, 57), (14, 57.5), (16, 56), (17, 53), (18, 49), (19, 44), (20, 39), (22, 32), (24, 29),
    ];

    // Hours count on over midnight. By the rules of the product's design, section 9, and the table above: the
    // second reading at 49 °C or more, the walk's two hours, the second at 56 °C or more. The moments of forecast and all-clear are our own.
    private static readonly string[] Expected =
    [
        "10:35 Tobias: North Gate plaza soon too hot | Expected in about 29 minutes. The ground is at 46 °C (115 °F), the limit is 49 °C (120 °F).",
        "11:15 Tobias: North Gate plaza too hot | The ground is at 50 °C (122 °F), the limit is 49 °C (120 °F).",
        "12:00 Ines: North Gate: plaza and steps too hot; Orchard Green is comfortable | Plaza: Since 11:15. The ground is at 54 °C (128 °F), the limit is 49 °C (120 °F). / Steps: Since 11:50. The ground is at 50 °C (122 °F), the limit is 49 °C (120 °F).",
        "13:05 Ines: North Gate plaza burns in seconds | The ground is at 57 °C (135 °F), the limit is 49 °C (120 °F). As before: steps too hot.",
        "13:05 Tobias: North Gate plaza burns in seconds | The ground is at 57 °C (135 °F), the limit is 49 °C (120 °F).",
        // In the shower nobody believes what is measured, and what is estimated knows of no rain: what may burn is told.
        "13:30 Ines: North Gate steps may burn in seconds | It is not measured now and may be at 58 °C (136 °F), the limit is 49 °C (120 °F). Take it as too hot. As before: plaza was too hot, not measured now.",
        "19:40 Tobias: North Gate plaza below its limit again | The ground is at 41 °C (105 °F), the limit is 49 °C (120 °F).",
        "34:35 Tobias: North Gate plaza soon too hot | Expected in about 29 minutes. The ground is at 46 °C (115 °F), the limit is 49 °C (120 °F).",
        "35:15 Tobias: North Gate plaza too hot | The ground is at 50 °C (122 °F), the limit is 49 °C (120 °F).",
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Everybody_hears_once_what_they_have_to_know()
    {
        var folder = Directory.CreateTempSubdirectory("pw-ferngate-").FullName;
        await using var service = await ReceiverHost.StartAsync();
        var story = new List<string>();
        var settings = new Dictionary<string, string?>(service.AsAllowed) { ["Watch:Interval"] = "00:05:00", ["Watch:Tick"] = "00:05:00" };
        var number = 0L;
        await using (var server = await StartAsync(folder, new FakeTimeProvider(Midnight.AddHours(6)), settings, spots: [NorthGate, Steps, Green]))
        {
            await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id, Steps.Id, Green.Id], Cancel);
            using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines");
            using var tobias = await WhoIsToldTests.PhoneAsync(server, service, "Tobias", NorthGate.Id.Value);
            await AddWalkAsync(server, "Ines", Midnight.AddHours(14), NorthGate, Steps);
            await LiveAsync(server, service, story, Midnight.AddHours(23), () => ++number);
            var shower = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Midnight.AddHours(ShowerFrom), Midnight.AddHours(ShowerTo), Cancel);
            Assert.Equal([Doubt.Wet, Doubt.Wet, Doubt.Wet, Doubt.Wet, Doubt.Wet], shower.Select(s => s.Reading.Doubt));
        }

        await using (var server = await StartAsync(folder, new FakeTimeProvider(Midnight.AddHours(29.5)), settings, spots: []))
            await LiveAsync(server, service, story, Midnight.AddHours(36.5), () => ++number);

        Assert.True(Expected.SequenceEqual(story), $"it came otherwise:{Environment.NewLine}{string.Join(Environment.NewLine, story)}");
        Directory.Delete(folder, recursive: true);
    }

    private static async Task LiveAsync(RunningServer server, ReceiverHost service, List<string> story, DateTimeOffset until, Func<long> next)
    {
        var watch = server.App.Services.GetServices<IHostedService>().OfType<WatchService>().Single();
        while (server.Time.GetUtcNow() < until)
        {
            // Also at the start: a spot that nobody has looked at yet begins with what is stored, the reading just heard among it.
            var before = server.Time.GetTimestamp();
            server.Time.Advance(Step);
            await server.LookedAfterAsync(before);
            await TellAsync(server, service, story);

            var (now, stepped) = (server.Time.GetUtcNow(), watch.Stepped);
            await server.Get<IngestPipeline>().AcceptAsync(
                Gate,
                ReadingPack.Write([ReadingOf(NorthGate, now, PlazaAt(now) - Van(now)), ReadingOf(Steps, now, PlazaAt(now.AddMinutes(-20)) - 1.5), ReadingOf(Green, now, AirAt(now) + 1)]),
                new PackOrigin(new PackNumber("boot", next()), TimeSpan.Zero, false));
            await Patience.UntilAsync(() => watch.Stepped == stepped + 3, () => $"of the readings of {now:O} {watch.Stepped - stepped} are looked at");
            await TellAsync(server, service, story);
        }
    }

    /// <summary>What came by now, each person's in order.</summary>
    private static async Task TellAsync(RunningServer server, ReceiverHost service, List<string> story)
    {
        await server.AllSentAsync();
        var came = new List<string>();
        while (!service.IsQuiet)
        {
            var arrival = await service.NextAsync();
            var body = PushMessageBody.Of(arrival.Text);
            // Each phone shows it and says so.
            foreach (var id in body.Told())
                await server.Get<Receipts>().ShownAsync(id, Cancel);
            var clock = body.At - Midnight;
            came.Add($"{(int)clock.TotalHours:00}:{clock.Minutes:00} {arrival.Device}: {body.Title} | {body.Body.Replace("\n", " / ", StringComparison.Ordinal)}");
        }

        story.AddRange(came.Order(StringComparer.Ordinal));
    }

    private static double PlazaAt(DateTimeOffset at)
    {
        var hours = (at - Midnight).TotalHours;
        var hour = hours % 24;
        var right = Array.FindIndex(Plaza, p => p.Hour > hour);
        var ((h0, c0), (h1, c1)) = (Plaza[right - 1], Plaza[right]);
        var celsius = c0 + ((c1 - c0) * (hour - h0) / (h1 - h0));
        return celsius;
    }

    private static Reading ReadingOf(Spot spot, DateTimeOffset at, double celsius)
    {
        var hours = (at - Midnight).TotalHours;
        var sky = spot == Green ? 0 : hours switch { >= ShowerFrom and < ShowerTo => 19, >= 15.15 and < 15.7 => 11, _ => 0 };
        return Good(spot, at, Math.Round(celsius - sky, 2), AirAt(at)) with { HumidityPercent = HumidityAt(hours) };
    }

    // [K] It stands over the plaza's probe.
    private static double Van(DateTimeOffset at) => (at - Midnight).TotalHours is >= 12.6 and < 13 ? 16 : 0;

    // What has fallen dries within two hours.
    private static double HumidityAt(double hours) => hours switch
    {
        >= ShowerFrom and < ShowerTo => 80,
        >= ShowerTo and < ShowerTo + 2 => Math.Round(80 - (25 * (hours - ShowerTo)), 1),
        _ => 30,
    };

    private static double AirAt(DateTimeOffset at)
    {
        var hours = (at - Midnight).TotalHours;
        var hour = hours % 24;
        // The shower takes it down, and an hour of sun up again.
        var fall = hours switch { >= ShowerFrom and < ShowerTo => 5, >= ShowerTo and < ShowerTo + 1 => 5 * (ShowerTo + 1 - hours), _ => 0 };
        return Math.Round(28 - fall + (7 * Math.Cos((hour - 16) / 12 * Math.PI)), 2);
    }

    private static async Task AddWalkAsync(RunningServer server, string walker, DateTimeOffset start, params Spot[] spots)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = pickle.Id,
            WalkerId = await db.People.Where(p => p.UserName == walker).Select(p => p.Id).SingleAsync(Cancel),
            Start = start,
            Minutes = 30,
            Spots = [.. spots.Select((spot, i) => new WalkSpotRow { SpotId = spot.Id.Value, Position = i })],
        });
        await db.SaveChangesAsync(Cancel);
    }
}
