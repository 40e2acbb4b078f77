using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Watch;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>The business says that a spot has other ground now: what was measured on the old one pulls no estimate of the new.</summary>
public sealed class OtherGroundTests
{
    // Of the same ground in the same air, and never measured: what is estimated where nothing is known of a surface.
    private static readonly Spot Twin = NorthGate with { Id = SpotId.Parse("twin"), Name = "Twin", Site = "Elsewhere" };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task What_was_measured_on_other_ground_is_forgotten_at_once_and_stays_so_over_a_restart()
    {
        var folder = Directory.CreateTempSubdirectory("pw-ground-").FullName;
        var lawn = NorthGate with { Surface = SurfaceKind.Grass };
        DateTimeOffset silent;
        await using (var server = await StartAsync(folder, spots: [Twin, lawn]))
        {
            var moments = Enumerable.Range(-72, 73).Select(i => Noon.AddMinutes(5 * i)).ToList();
            await server.MeasureAsync(moments.Select(at => Good(Twin, at, null)));
            await server.MeasureAsync(moments.Select(at => Good(lawn, at, 20)));
            await server.SeenAsync(lawn, s => s.MeasuredAt == Noon);

            Assert.Null(await server.Get<SpotStore>().EditSpotAsync(lawn.Id, spot => spot with { Surface = Twin.Surface }, Cancel));

            await SilentAsync(server);
            await AssertLikeTwinAsync(server);
            silent = server.Time.GetUtcNow();
        }

        // The business never had a fit of it, whose end would tell since when it has its ground.
        await using (var again = await StartAsync(folder, new FakeTimeProvider(silent), spots: []))
            await AssertLikeTwinAsync(again);
        Directory.Delete(folder, recursive: true);
    }

    private static async Task SilentAsync(RunningServer server)
    {
        for (var minute = 0; minute < 4; minute++)
            await server.MinuteAsync(NorthGate);
    }

    private static async Task AssertLikeTwinAsync(RunningServer server)
    {
        await server.MinuteAsync(NorthGate);
        var board = server.Get<SpotBoard>();
        SpotNow? now = null, twin = null;
        // The clock was advanced under the looks at the twin: the one of this minute comes when those before it are done.
        await Patience.UntilAsync(
            () => (now = board.Find(NorthGate.Id)) is { Estimated: true } && (twin = board.Find(Twin.Id)) is { Estimated: true }
                && Math.Abs(twin.UpperCelsius!.Value - now.UpperCelsius!.Value) < 1e-9,
            () => $"{now}, {twin}");
    }
}
