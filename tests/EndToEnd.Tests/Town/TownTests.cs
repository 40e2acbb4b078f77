using System.Text.Json;
using PavementWatch.Server.Demo;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>What one sees within a minute of starting the demo: the whole path from simulated sensor to decrypted push.</summary>
[Collection(nameof(SharedFastTown))]
public sealed class TownTests(FastTown town)
{
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
        using var ines = await Visitor.SignedInAsync(await town.LinkOfAsync("walker Ines"));
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
        using var odile = await Visitor.SignedInAsync(await town.LinkOfAsync("analyst Odile"));
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
        using var visitor = await Visitor.SignedInAsync(await town.LinkOfAsync(who));
        var html = page == "/business"
            ? await visitor.GetStringAsync(new Uri(run.Address + page), TestContext.Current.CancellationToken)
            : visitor.LastPage;
        Assert.Contains(expected, html, StringComparison.Ordinal);
    }

    private static Task WaitUntilAsync(Func<Task<bool>> holds) => Patience.UntilAsync(holds, () => "it did not come to hold");
}
