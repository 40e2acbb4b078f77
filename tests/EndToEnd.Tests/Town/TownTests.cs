using System.Collections.Concurrent;
using System.Globalization;
using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Demo;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>What one sees within a minute of starting the demo: the whole path from simulated sensor to decrypted push.</summary>
[Collection(nameof(SharedTown))]
public sealed class TownTests(RunningTown town)
{
    private static readonly string[] Frozen = ["freezing", "bitter"];

    [Fact]
    public async Task Plaza_is_announced_before_and_when_it_passes_its_limit()
    {
        await town.StartedAsync();
        await town.SaysAsync("push to Ines: North Gate plaza soon too hot");
        var alarm = await town.SaysAsync("push to Ines: North Gate plaza too hot");
        Assert.Contains("°C", alarm, StringComparison.Ordinal);
        Assert.Contains("°F", alarm, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Readings_of_the_simulated_sensors_reach_the_API_with_the_truth_of_the_invented_ground()
    {
        var run = await town.StartedAsync();
        await town.SaysAsync("push to Ines: North Gate plaza too hot");
        using var ines = await SignedInAsync(await town.LinkOfAsync("walker Ines"));
        using var spots = JsonDocument.Parse(
            await ines.GetStringAsync(new Uri(run.Address + "/api/spots"), TestContext.Current.CancellationToken));
        var plaza = spots.RootElement.EnumerateArray().Single(spot => spot.GetProperty("id").GetString() == "north-gate-plaza");
        var measuredAt = plaza.GetProperty("measuredAt").GetDateTimeOffset();
        var truth = new DemoGround(DemoDay.Summer, DemoTown.Spots, DemoDay.Summer.Morning)
            .SurfaceCelsius(DemoTown.Spots[0].Spot.Id, measuredAt.AddSeconds(-30));
        // A minute's centre of a sensor that knows its own emissivity but only guesses the sky.
        Assert.InRange(plaza.GetProperty("surfaceCelsius").GetDouble(), truth - 1.5, truth + 1.5);
        Assert.False(plaza.GetProperty("estimated").GetBoolean());
    }

    [Fact]
    public async Task Gateway_without_network_delivers_afterwards_what_it_measured_meanwhile()
    {
        var run = await town.StartedAsync();
        await town.SaysAsync("gateway quarry has its network back");
        using var odile = await SignedInAsync(await town.LinkOfAsync("analyst Odile"));
        await WaitUntilAsync(async () =>
        {
            using var day = JsonDocument.Parse(await odile.GetStringAsync(
                new Uri(run.Address + "/api/spots/quarry-steps/day?date=2026-07-14"), TestContext.Current.CancellationToken));
            var midnight = day.RootElement.GetProperty("from").GetDateTimeOffset();
            var inTheDark = day.RootElement.GetProperty("at").EnumerateArray()
                .Select(seconds => midnight.AddSeconds(seconds.GetDouble()))
                .Zip(day.RootElement.GetProperty("surfaceCelsius").EnumerateArray())
                .Where(point => point.First > DemoDay.Summer.SilentFrom && point.First <= DemoDay.Summer.SilentTo)
                .Count(point => point.Second.ValueKind == JsonValueKind.Number);
            // Forty minutes, some drawn together.
            return inTheDark >= 8;
        });
    }

    [Theory]
    [InlineData("walker Tobias", "/", "North Gate plaza")]
    [InlineData("business", "/business", "quarry")]
    [InlineData("owner of Pickle", "", "Pickle")]
    public async Task Everybody_sees_their_page_by_their_link(string who, string page, string expected)
    {
        var run = await town.StartedAsync();
        using var visitor = await SignedInAsync(await town.LinkOfAsync(who));
        var html = page == "/business"
            ? await visitor.GetStringAsync(new Uri(run.Address + page), TestContext.Current.CancellationToken)
            : visitor.LastPage;
        Assert.Contains(expected, html, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_winter_morning_freezes_turns_bitter_and_thaws_by_noon()
    {
        var said = new ConcurrentQueue<string>();
        await using var run = await DemoRun.StartAsync(
            new DemoOptions(600, 0, null) { Day = DemoDay.Winter }, said.Enqueue, TestContext.Current.CancellationToken);
        await RunningTown.SaysAsync(said, "push to Ines: Mill", "may be icy from 0");
        await RunningTown.SaysAsync(said, "push to Ines: Mill", "bitterly cold");

        using var ines = await SignedInAsync(run.Links.Single(link => link.Who == "walker Ines").Link);
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
    }

    [Fact]
    public async Task Nothing_is_left_of_a_demo_that_ended()
    {
        var before = TemporaryFolders();
        var run = await DemoRun.StartAsync(
            new DemoOptions(600, 0, null), _ => { }, TestContext.Current.CancellationToken);
        var address = run.Address;
        var own = Assert.Single(TemporaryFolders().Except(before));
        await run.DisposeAsync();
        Assert.False(Directory.Exists(own));
        using var client = new HttpClient();
        await Assert.ThrowsAsync<HttpRequestException>(
            () => client.GetAsync(new Uri(address), TestContext.Current.CancellationToken));
    }

    private static string[] TemporaryFolders() => Directory.GetDirectories(Path.GetTempPath(), "pavementwatch-demo-*");

    private static async Task<Visitor> SignedInAsync(string link)
    {
        var visitor = new Visitor();
        using var answer = await visitor.GetAsync(new Uri(link), TestContext.Current.CancellationToken);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        visitor.LastPage = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        if (Regex.Match(visitor.LastPage, "name=\"__RequestVerificationToken\" value=\"([^\"]+)\"") is { Success: true } button)
        {
            using var form = new FormUrlEncodedContent([KeyValuePair.Create("__RequestVerificationToken", button.Groups[1].Value)]);
            using var entered = await visitor.PostAsync(new Uri(link), form, TestContext.Current.CancellationToken);
            Assert.Equal(HttpStatusCode.OK, entered.StatusCode);
            visitor.LastPage = await entered.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        }

        return visitor;
    }

    private static Task WaitUntilAsync(Func<Task<bool>> holds) => Patience.UntilAsync(holds, () => "it did not come to hold");

    private sealed class Visitor() : HttpClient(new HttpClientHandler { CookieContainer = new CookieContainer() })
    {
        public string LastPage { get; set; } = "";
    }
}
