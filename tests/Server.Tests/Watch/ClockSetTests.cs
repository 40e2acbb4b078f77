using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
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

    private static async Task SendAsync(RunningServer server, long number, DateTimeOffset measuredAt, double surfaceCelsius) =>
        await server.Get<IngestPipeline>().AcceptAsync(
            Gate, ReadingPack.Write([Good(NorthGate, measuredAt, surfaceCelsius)]), new PackOrigin(new PackNumber("boot", number), TimeSpan.Zero, false));

    /// <summary>Its timers and timestamps go on when it is set.</summary>
    private sealed class CalendarThatIsSet(DateTimeOffset start) : FakeTimeProvider(start)
    {
        private TimeSpan _ahead;

        public void Set(TimeSpan by) => _ahead += by;

        public override DateTimeOffset GetUtcNow() => base.GetUtcNow() + _ahead;

        public override long GetTimestamp() => base.GetUtcNow().Ticks;
    }
}
