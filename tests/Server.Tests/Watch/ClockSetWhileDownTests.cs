using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Somebody sets the server's clock while the server is down.</summary>
public sealed class ClockSetWhileDownTests : IDisposable
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-clock-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData(-179)]
    [InlineData(-60 * 24 * 30)]
    [InlineData(179)]
    public async Task Ground_that_was_hot_last_is_not_shown_as_it_was_in_the_forenoon(int minutes)
    {
        var hot = Noon.AddHours(3);
        await using (var server = await StartAsync(_folder, new FakeTimeProvider(hot)))
        {
            await server.Get<IReadingStore>().AppendAsync(
                [.. Enumerable.Range(-10, 190).Select(i => Noon.AddMinutes(i)).Select(at => new StoredReading(Good(NorthGate, at, 40 + Math.Max(0, (at - Noon).TotalMinutes / 9)), at))], Cancel);
            await server.MeasureAsync(Good(NorthGate, hot, 61));
            await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 61);
        }

        await using (var server = await StartAsync(_folder, new FakeTimeProvider(hot.AddMinutes(minutes)), spots: []))
        {
            AssertNotCool(server.Get<SpotBoard>().Find(NorthGate.Id)!);
            for (var minute = 0; minute < 5; minute++)
                AssertNotCool(await server.MinuteAsync(NorthGate));
            // What is measured from now on is shown; not at a moment that the store has already.
            await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow().AddSeconds(-7), 45));
            Assert.False((await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 45)).Estimated);
        }

        static void AssertNotCool(SpotNow now) =>
            Assert.True(now.Word is GroundWord.Unknown or GroundWord.TooHot or GroundWord.BurnsInSeconds, $"{now.Word}, {now}");
    }

    [Theory]
    [InlineData(-30)]
    [InlineData(-120)]
    [InlineData(-8 * 60)]
    [InlineData(120)]
    public async Task Heat_is_told_once_a_day_and_nothing_that_was_measured_is_lost(int minutes)
    {
        await using (var server = await StartAsync(_folder))
        {
            await WatchTests.TooHotAsync(server);
            await server.MinuteAsync(NorthGate);
        }

        await using (var server = await StartAsync(_folder, new FakeTimeProvider(Noon.AddMinutes(5 + minutes)), spots: []))
        {
            await StandingNewsTests.ReadAsync(server, 53, 53.1, 53.2, 53.3);

            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            var told = await db.AlertEvents.Where(e => e.Notified && e.Side == AlertSide.Heat).Select(e => e.Because).ToListAsync(Cancel);
            // That it may burn in seconds, where the ground is estimated before its first reading, is told whatever was told before.
            Assert.Single(told, because => AlertDecision.Warns(because) && !AlertDecision.IsRise(because) && because != AlertReason.EstimateExtreme);
            Assert.Equal(8, (await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon.AddDays(-1), Noon.AddDays(1), Cancel)).Count);
        }
    }

    [Theory]
    [InlineData(-240)]
    [InlineData(-30)]
    public async Task A_sensor_in_doubt_stays_so(int minutes)
    {
        var number = 0L;
        async Task MeasureAsync(RunningServer server, DateTimeOffset at, double celsius) => await server.Get<IngestPipeline>().AcceptAsync(
            Gate, ReadingPack.Write([Good(NorthGate, at, celsius)]), new PackOrigin(new PackNumber("boot", ++number), TimeSpan.Zero, false));

        await using (var server = await StartAsync(_folder))
        {
            await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
            await server.MinuteAsync(NorthGate);
            await MeasureAsync(server, Noon.AddMinutes(1), 58);
            await server.MinuteAsync(NorthGate);
            // A van stands over it.
            await MeasureAsync(server, Noon.AddMinutes(2), 30);
            Assert.NotNull(server.Get<ReadingJudge>().DoubtedSince(NorthGate.Id));
        }

        await using (var server = await StartAsync(_folder, new FakeTimeProvider(Noon.AddMinutes(3 + minutes)), spots: []))
        {
            // Dated by the gateway, whose clock nobody sets.
            await server.MinuteAsync(NorthGate);
            await MeasureAsync(server, Noon.AddMinutes(4), 30);
            Assert.NotNull(server.Get<ReadingJudge>().DoubtedSince(NorthGate.Id));
        }
    }

    [Fact]
    public async Task Fits_that_a_clock_ahead_has_dated_hold_up_no_night()
    {
        await using (var server = await StartAsync(_folder, new FakeTimeProvider(Noon.AddDays(400))))
        {
            await server.MinuteAsync(NorthGate);
            await FittedAsync(server, fit => fit.FittedAt > Noon.AddDays(399));
        }

        await using (var server = await StartAsync(_folder, spots: []))
        {
            await FittedAsync(server, fit => fit.FittedAt <= Noon.AddHours(1));
            // Once, and not at every look.
            var count = await CountAsync(server);
            for (var minute = 0; minute < 3; minute++)
                await server.MinuteAsync(NorthGate);
            Assert.Equal(count, await CountAsync(server));
        }
    }

    [Theory]
    [InlineData(-3)]
    [InlineData(3)]
    public async Task Who_is_signed_in_stays_so(int hours)
    {
        var (cookies, now) = (new CookieContainer(), TimeProvider.System.GetUtcNow());
        await using (var server = await StartAsync(_folder, peopleNow: now))
        {
            var people = server.Get<PersonStore>();
            var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
            using var browser = server.Browser(cookies: cookies);
            using var entered = await browser.EnterAsync($"/enter/{await people.NewSignInTokenAsync(ines.Id, Cancel)}");
            Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        }

        await using (var server = await StartAsync(_folder, peopleNow: now.AddHours(hours), spots: []))
        {
            using var browser = server.Browser(cookies: cookies);
            for (var look = 0; look < 2; look++)
            {
                using var answer = await browser.GetAsync(new Uri("/api/spots", UriKind.Relative), Cancel);
                Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
                server.PeopleTime.Advance(Sessions.Settling);
            }
        }
    }

    private static async Task FittedAsync(RunningServer server, Func<FitRow, bool> wanted) => await Patience.UntilAsync(
        async () =>
        {
            await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
            return (await db.Set<FitRow>().AsNoTracking().Where(f => f.SpotId == NorthGate.Id.Value).ToListAsync(Cancel)).Exists(f => wanted(f));
        },
        () => "no fit as wanted");

    private static async Task<int> CountAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        return await db.Set<FitRow>().CountAsync(Cancel);
    }
}
