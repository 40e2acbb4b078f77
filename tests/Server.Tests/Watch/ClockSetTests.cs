using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Database;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Plausibility;
using PavementWatch.Server.Tests.Api;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>Somebody sets the server's clock while gateways go on by theirs.</summary>
public sealed class ClockSetTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(-2)]
    [InlineData(-15)]
    [InlineData(-120)]
    [InlineData(-60 * 24 * 30)]
    [InlineData(15)]
    [InlineData(60 * 24 * 30)]
    public async Task The_newest_reading_is_shown_on_and_the_next_one_takes_its_place(int minutes)
    {
        var clock = new CalendarThatIsSet(Noon);
        await using var server = await StartAsync(time: clock);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        await SendAsync(server, 1, Noon, 52);
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 52);
        await server.MinuteAsync(NorthGate);

        clock.Set(TimeSpan.FromMinutes(minutes));
        var now = await server.MinuteAsync(NorthGate);
        Assert.True((now.Estimated ? now.UpperCelsius : now.SurfaceCelsius) >= 52, now.ToString());
        if (minutes < 0)
            Assert.Equal((false, TimeSpan.FromMinutes(2)), (now.Estimated, now.Now - now.MeasuredAt));

        // Dated by the gateway's clock, which nobody set; cooler, so that it is not shown for being the hotter one.
        await SendAsync(server, 2, Noon.AddMinutes(2), 51);
        now = await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 51);
        Assert.Equal((false, now.Now), (now.Estimated, now.MeasuredAt));

        // What is measured no more grows old all the same.
        for (var minute = 0; minute < 3; minute++)
            now = await server.MinuteAsync(NorthGate);
        Assert.NotEqual((51, false), (now.SurfaceCelsius, now.Estimated));
    }

    [Fact]
    public async Task A_look_in_which_the_clock_leaps_ahead_shows_nothing_cooler_than_what_was_measured()
    {
        var clock = new CalendarThatIsSet(Noon);
        var registry = new ClockSetInALook(clock);
        await using var server = await StartAsync(time: clock, services: registry.AddTo);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        await SendAsync(server, 1, Noon, 78);
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 78);
        await server.MinuteAsync(NorthGate);

        // The evening is estimated far cooler.
        registry.By = TimeSpan.FromHours(8);
        var now = await server.MinuteAsync(NorthGate);

        Assert.Equal(TimeSpan.Zero, registry.By);
        Assert.True((now.Estimated ? now.UpperCelsius : now.SurfaceCelsius) >= 78, now.ToString());
    }

    [Theory]
    [InlineData(25, GroundWord.Unknown)]
    [InlineData(47, GroundWord.Unknown)]
    [InlineData(55, GroundWord.TooHot)]
    [InlineData(-3, GroundWord.Freezing)]
    public async Task What_was_measured_before_the_clock_leapt_ahead_only_warns_where_nothing_else_is_known(double celsius, GroundWord word)
    {
        var clock = new CalendarThatIsSet(Noon);
        await using var server = await StartAsync(time: clock);
        // Without air nothing is estimated.
        await server.MeasureAsync(Good(NorthGate, Noon, celsius, air: null));
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == celsius);

        clock.Set(TimeSpan.FromHours(2));
        var now = await server.MinuteAsync(NorthGate);
        Assert.Equal((word, word == GroundWord.Unknown ? null : celsius, false), (now.Word, now.SurfaceCelsius, now.Estimated));

        // The next one is believed.
        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow(), 24, air: null));
        Assert.NotEqual(GroundWord.Unknown, (await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 24)).Word);
    }

    [Theory]
    [InlineData(-6)]
    [InlineData(-50)]
    public async Task A_hot_reading_that_comes_at_once_is_shown_though_the_clock_was_set_back_by_less_than_an_interval(int seconds)
    {
        var clock = new CalendarThatIsSet(Noon);
        await using var server = await StartAsync(time: clock);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        await SendAsync(server, 1, Noon, 48);
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 48);

        clock.Set(TimeSpan.FromSeconds(seconds));
        clock.Advance(TimeSpan.FromSeconds(5));
        await SendAsync(server, 2, Noon.AddSeconds(5), 60);

        await server.SeenAsync(NorthGate, s => !s.Estimated && s.SurfaceCelsius == 60);
    }

    [Theory]
    [InlineData(55, 35, AlertSide.Heat)]
    [InlineData(-5, -3, AlertSide.Cold)]
    public async Task What_is_told_before_midnight_is_not_told_again_when_the_clock_is_set_over_it_and_back(double celsius, double air, AlertSide side)
    {
        // Eleven at night at the spot.
        var night = Noon.AddHours(11);
        var clock = new CalendarThatIsSet(night);
        await using var server = await StartAsync(time: clock);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        var minute = 0;
        async Task MeasureAsync(int minutes)
        {
            for (var until = minute + minutes; minute < until; minute++)
            {
                await SendAsync(server, minute + 1, night.AddMinutes(minute), celsius + (minute % 2), air);
                await server.SeenAsync(NorthGate, s => !s.Estimated && s.SurfaceCelsius == celsius + (minute % 2));
                await server.MinuteAsync(NorthGate);
            }
        }

        // By the readings, or by the estimate where a look at a busy moment came before the second of them.
        await MeasureAsync(3);
        var told = Assert.Single(await ToldAsync(server));
        Assert.Equal(side, told.Side);

        foreach (var hours in new[] { 2, -2, 2, -2 })
        {
            clock.Set(TimeSpan.FromHours(hours));
            await server.MinuteAsync(NorthGate);
            await MeasureAsync(4);
        }

        Assert.Equal(told, Assert.Single(await ToldAsync(server)));
    }

    [Theory]
    [InlineData(58, 30, 30, 240)]
    [InlineData(58, 30, 30, -240)]
    // Wet, as the humidity jumps.
    [InlineData(47, 33, 80, 240)]
    public async Task A_doubt_is_no_older_for_a_clock_that_is_set(double celsius, double doubtedCelsius, double humidity, int minutes)
    {
        var (clock, number) = (new CalendarThatIsSet(Noon), 0);
        await using var server = await StartAsync(time: clock);
        await server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [NorthGate.Id], Cancel);
        // The gateway's clock, which nobody sets.
        var began = clock.GetTimestamp();
        async Task<DateTimeOffset?> MeasureAsync(double surface, double percent)
        {
            await server.Get<IngestPipeline>().AcceptAsync(
                Gate,
                ReadingPack.Write([Good(NorthGate, Noon + clock.GetElapsedTime(began), surface) with { HumidityPercent = percent }]),
                new PackOrigin(new PackNumber("boot", ++number), TimeSpan.Zero, false));
            return server.Get<ReadingJudge>().DoubtedSince(NorthGate.Id);
        }

        await server.MinuteAsync(NorthGate);
        Assert.Null(await MeasureAsync(celsius, 30));
        await server.MinuteAsync(NorthGate);
        var since = await MeasureAsync(doubtedCelsius, humidity);
        Assert.Equal(clock.GetUtcNow(), since);

        clock.Set(TimeSpan.FromMinutes(minutes));
        clock.Advance(TimeSpan.FromSeconds(10));
        since += TimeSpan.FromMinutes(minutes);
        // Judged before the watch has looked at the clock, and after.
        Assert.Equal(since, await MeasureAsync(doubtedCelsius, humidity));
        await server.MinuteAsync(NorthGate);
        Assert.Equal(since, await MeasureAsync(doubtedCelsius, humidity));
    }

    private static async Task<IReadOnlyList<(AlertSide Side, AlertReason Because)>> ToldAsync(RunningServer server)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var told = await db.AlertEvents.Where(e => e.SpotId == NorthGate.Id.Value && e.Notified).OrderBy(e => e.Id).ToListAsync(Cancel);
        return [.. told.Select(e => (e.Side, e.Because))];
    }

    private static async Task SendAsync(RunningServer server, long number, DateTimeOffset measuredAt, double surfaceCelsius, double airCelsius = 35) =>
        await server.Get<IngestPipeline>().AcceptAsync(
            Gate, ReadingPack.Write([Good(NorthGate, measuredAt, surfaceCelsius, airCelsius)]), new PackOrigin(new PackNumber("boot", number), TimeSpan.Zero, false));

    /// <summary>Sets the clock while the watch asks who plans a walk.</summary>
    private sealed class ClockSetInALook(CalendarThatIsSet clock) : DbCommandInterceptor
    {
        public TimeSpan By { get; set; }

        public void AddTo(IServiceCollection services) => services.ConfigureDbContext<RegistryDb>(options => options.AddInterceptors(this));

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            if (command.CommandText.Contains("FROM \"Walks\"", StringComparison.Ordinal))
            {
                clock.Set(By);
                By = TimeSpan.Zero;
            }

            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }
}
