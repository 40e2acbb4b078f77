using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Walks;

/// <summary>What the ground of a walk adds up to, as its walker and the dog's owner see it.</summary>
public sealed class WalkDoseTests
{
    private static readonly Spot Footbridge = NorthGate with { Id = SpotId.Parse("mill-footbridge"), Name = "Mill Footbridge", Surface = SurfaceKind.Grass, Site = "Mill" };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_walk_that_hurts_by_one_of_its_spots_says_so_on_the_day_of_each_to_its_walker_and_its_owner()
    {
        await using var server = await StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        await MeasureAsync(server);
        var pickle = await WalkAsync(server, QuarrySteps, NorthGate);

        foreach (var spot in (string[])["quarry-steps", "north-gate-plaza"])
        {
            var dose = await DoseAsync(ines, spot);
            Assert.Equal(1, dose.GetProperty("doseFraction").GetDouble());
            // The steps, which hurt nobody, come first; the plaza at 47 °C and what its sensor leaves open hurts after one to nine minutes more.
            Assert.InRange(dose.GetProperty("hurtFrom").GetDateTimeOffset(), Noon.AddMinutes(-19), Noon.AddMinutes(-11));
            Assert.Empty(dose.GetProperty("unknownSpots").EnumerateArray());
            Assert.Matches(@"Pickle's walk is long enough to hurt paws, from about 11:4[0-9] on, most at North Gate plaza\.", await PageAsync(ines, $"/spots/{spot}"));
        }

        using var owner = server.Browser();
        var token = await server.Get<PersonStore>().NewOwnerTokenAsync(pickle, TimeSpan.FromDays(7), Cancel);
        Assert.Equal(2, (await PageAsync(owner, $"/o/{token}")).Split("Pickle's walk is long enough to hurt paws, from about 11:4").Length);
        // Nobody else's walk.
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        Assert.DoesNotContain("long enough", await PageAsync(tobias, "/spots/quarry-steps"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_spot_that_nobody_knows_makes_the_walk_unknown()
    {
        await using var server = await StartAsync(spots: [QuarrySteps, Footbridge, NorthGate]);
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        await MeasureAsync(server);
        await WalkAsync(server, QuarrySteps, Footbridge);

        var dose = await DoseAsync(ines, "quarry-steps");

        Assert.Equal((JsonValueKind.Null, JsonValueKind.Null), (dose.GetProperty("doseFraction").ValueKind, dose.GetProperty("hurtFrom").ValueKind));
        Assert.Equal("Mill Footbridge", Assert.Single(dose.GetProperty("unknownSpots").EnumerateArray()).GetString());
        Assert.Contains("Whether Pickle's walk is long enough to hurt paws is unknown: nothing certain is known of the ground at Mill Footbridge.", await PageAsync(ines, "/spots/quarry-steps"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_walk_over_cool_ground_takes_a_share_and_gives_no_leave()
    {
        await using var server = await StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        await MeasureAsync(server, plaza: 43);
        await WalkAsync(server, QuarrySteps, NorthGate);

        var dose = await DoseAsync(ines, "north-gate-plaza");

        // Ten minutes of 43 °C and what the sensor leaves open, 45 to 46 °C, which hurt after one to two hours (ASTM C1055, by hand).
        Assert.InRange(dose.GetProperty("doseFraction").GetDouble(), 0.02, 0.4);
        Assert.Equal(JsonValueKind.Null, dose.GetProperty("hurtFrom").ValueKind);
        var sentence = dose.GetProperty("text").GetString()!;
        Assert.Matches(@"^Pickle's walk takes [a-z ]+ \([0-9]+ %\) of the heat that hurts skin, most at North Gate plaza if it is as long at each spot\.$", sentence);
        Assert.Contains(sentence, await PageAsync(ines, "/spots/north-gate-plaza"), StringComparison.Ordinal);
    }

    private static Task MeasureAsync(RunningServer server, double plaza = 47) => server.MeasureAsync(
        Enumerable.Range(0, 90).SelectMany(i => new[] { Good(NorthGate, Noon.AddMinutes(i - 89), plaza), Good(QuarrySteps, Noon.AddMinutes(i - 89), 32) }));

    /// <summary>Pickle's walk with Ines, twenty minutes from half an hour ago.</summary>
    private static async Task<int> WalkAsync(RunningServer server, params Spot[] spots)
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = pickle.Id,
            WalkerId = await db.People.Where(p => p.UserName == "Ines").Select(p => p.Id).SingleAsync(Cancel),
            Start = Noon.AddMinutes(-30),
            Minutes = 20,
            Spots = [.. spots.Select((spot, position) => new WalkSpotRow { SpotId = spot.Id.Value, Position = position })],
        });
        await db.SaveChangesAsync(Cancel);
        return pickle.Id;
    }

    private static async Task<JsonElement> DoseAsync(HttpClient browser, string spot)
    {
        using var day = JsonDocument.Parse(await browser.GetStringAsync(new Uri($"/api/spots/{spot}/day", UriKind.Relative), Cancel));
        return day.RootElement.GetProperty("walk").GetProperty("dose").Clone();
    }

    private static async Task<string> PageAsync(HttpClient browser, string path) =>
        WebUtility.HtmlDecode(await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel)).Replace('\u00a0', ' ');
}
