using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Demo;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>The demo's other day, from its start to its end.</summary>
public sealed class WinterTownTests
{
    private static readonly string[] Frozen = ["freezing", "bitter"];

    [Fact]
    public async Task A_winter_morning_freezes_turns_bitter_and_thaws_by_noon_and_nothing_is_left_of_its_demo()
    {
        var said = new ConcurrentQueue<string>();
        await using var run = await DemoRun.StartAsync(
            new DemoOptions(600, 0, null) { Day = DemoDay.Winter }, said.Enqueue, TestContext.Current.CancellationToken);
        await RunningTown.SaysAsync(said, "push to Ines: Mill", "may be icy from 0");
        await RunningTown.SaysAsync(said, "push to Ines: Mill", "bitterly cold");

        using var ines = await Visitor.SignedInAsync(run.Links.Single(link => link.Who == "walker Ines").Link);
        using var spots = JsonDocument.Parse(await ines.GetStringAsync(new Uri(run.Address + "/api/spots"), TestContext.Current.CancellationToken));
        var ground = new DemoGround(DemoDay.Winter, DemoTown.Spots, DemoDay.Winter.Morning);
        foreach (var spot in spots.RootElement.EnumerateArray().Where(spot => !spot.GetProperty("estimated").GetBoolean()))
        {
            var truth = ground.SurfaceCelsius(SpotId.Parse(spot.GetProperty("id").GetString()!), spot.GetProperty("measuredAt").GetDateTimeOffset().AddSeconds(-30));
            Assert.InRange(spot.GetProperty("surfaceCelsius").GetDouble(), truth - 1.5, truth + 1.5);
            if (truth < -1.5)
                Assert.Contains(spot.GetProperty("word").GetString(), Frozen);
        }

        await RunningTown.SaysAsync(said, "gateway quarry has its network back");
        var thawed = await RunningTown.SaysAsync(said, "push to Ines: Quarry Steps", "no longer freezing");
        Assert.InRange(TimeSpan.ParseExact(thawed[..5], @"hh\:mm", CultureInfo.InvariantCulture), TimeSpan.FromHours(11), TimeSpan.FromHours(12.5));
        Assert.DoesNotContain(said, line => line.Contains("hot", StringComparison.Ordinal) || line.Contains("burn", StringComparison.Ordinal));

        Assert.StartsWith(Path.Combine(Path.GetTempPath(), "pavementwatch-demo-"), run.Folder, StringComparison.Ordinal);
        Assert.True(Directory.Exists(run.Folder));
        await run.DisposeAsync();
        Assert.False(Directory.Exists(run.Folder));
        using var client = new HttpClient();
        await Assert.ThrowsAsync<HttpRequestException>(() => client.GetAsync(new Uri(run.Address), TestContext.Current.CancellationToken));
    }
}
