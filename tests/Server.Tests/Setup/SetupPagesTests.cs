using System.Net;
using System.Text.RegularExpressions;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Setup;

/// <summary>The business's forms as a browser without scripts sends them.</summary>
public sealed partial class SetupPagesTests
{
    private const string Long81 = "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx";

    private static readonly Dictionary<string, string> Orchard = new()
    {
        ["name"] = "Orchard Green",
        ["site"] = "Orchard",
        ["surface"] = "grass",
        ["latitude"] = "37.4012",
        ["longitude"] = "-97,0031",
        ["zone"] = "America/Chicago",
        ["limit"] = "120",
        ["unit"] = "fahrenheit",
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("/business/add-spot")]
    [InlineData("/business/enrol")]
    [InlineData("/business/spots/north-gate-plaza")]
    [InlineData("/business/spots/north-gate-plaza/edit")]
    public async Task Only_the_business_sees_setup(string path)
    {
        await using var server = await RunningServer.StartAsync();
        foreach (var (role, status) in new[] { (Role.Walker, HttpStatusCode.Forbidden), (Role.Analyst, HttpStatusCode.Forbidden), (Role.Business, HttpStatusCode.OK) })
        {
            using var browser = await server.BrowserOfAsync(role);
            using var answer = await browser.GetAsync(new Uri(path, UriKind.Relative), Cancel);
            Assert.Equal(status, answer.StatusCode);
        }
    }

    [Fact]
    public async Task Spot_is_added_from_a_form_and_its_limit_may_be_given_in_Fahrenheit()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);

        using var answer = await browser.PostAsync("/business/add-spot", "spot", Orchard);

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.EndsWith("/business/spots/orchard-green", answer.Headers.Location?.ToString(), StringComparison.Ordinal);
        var spot = server.Get<SpotCatalogue>().Find(SpotId.Parse("orchard-green"));
        Assert.Equal(("Orchard Green", "Orchard", -97.0031), (spot?.Name, spot?.Site, spot?.LongitudeDegrees));
        Assert.Equal(48.889, spot!.LimitCelsius, 0.001); // (120 − 32) · 5/9, by definition.
    }

    [Theory]
    [InlineData("name", "North Gate plaza", "there is a spot &#x27;north-gate-plaza&#x27; already")]
    [InlineData("name", "!", "expected at least one letter")]
    [InlineData("name", "Orchard\nGreen", "name holds a line break or another control character, expected one line")]
    [InlineData("site", Long81, "site has 81 characters, expected 1 to 80")]
    [InlineData("surface", "", "no kind of ground is chosen")]
    [InlineData("latitude", "north", "latitude is &#x27;north&#x27;, expected a number of degrees")]
    [InlineData("latitude", "97", "expected -90 to 90 degrees")]
    [InlineData("longitude", "97", "97.0 E is 11.5 h from America/Chicago, expected at most 3.5 h; is a minus sign missing?")]
    [InlineData("zone", "Ferngate", "expected an IANA name")]
    [InlineData("limit", "hot", "expected a temperature such as 49")]
    [InlineData("limit", "20", "expected 30 to 52")]
    public async Task What_is_wrong_with_a_spot_is_said_and_what_was_typed_stays(string field, string value, string fault)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);

        using var answer = await browser.PostAsync("/business/add-spot", "spot", new Dictionary<string, string>(Orchard) { [field] = value });

        var page = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.Contains(fault, page, StringComparison.Ordinal);
        Assert.Contains($"value=\"{(field == "site" ? "Orchard Green" : "Orchard")}\"", page, StringComparison.Ordinal);
        Assert.Equal(2, server.Get<SpotCatalogue>().All.Count);
    }

    [Fact]
    public async Task Code_made_on_the_page_is_good_at_the_door_and_stands_in_the_QR()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);

        using var answer = await browser.PostAsync(
            "/business/enrol", "enrol", new Dictionary<string, string> { ["gateway"] = "north-gate", ["spot-north-gate-plaza"] = "yes" });

        var page = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.True(answer.Headers.CacheControl?.NoStore);
        var code = Code().Match(page).Groups[1].Value;
        Assert.Contains(QrSvg.Of(WebUtility.HtmlDecode(Command().Match(page).Groups[1].Value)), page, StringComparison.Ordinal);
        var outcome = Assert.IsType<RedeemOutcome.Enrolled>(await server.Get<EnrolmentCodeStore>().RedeemAsync(code, Cancel));
        Assert.Equal([RunningServer.NorthGate.Id], outcome.Spots.Select(s => s.Id));
    }

    [Fact]
    public async Task Spot_is_changed_from_a_form_and_what_was_learned_of_other_ground_is_retired()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        var model = new Core.Offsets.OffsetModel(new Core.Offsets.OffsetOptions());
        var fits = server.Get<Server.Fitting.FitStore>();
        await fits.AddAsync(model.Prior(RunningServer.NorthGate, RunningServer.Noon), FitStanding.InUse, "test", Cancel);
        var form = await browser.GetStringAsync(new Uri("/business/spots/north-gate-plaza/edit", UriKind.Relative), Cancel);
        Assert.Contains("value=\"North Gate plaza\"", form, StringComparison.Ordinal);
        Assert.Contains("value=\"-97\"", form, StringComparison.Ordinal);
        var fields = new Dictionary<string, string>(Orchard) { ["name"] = "North Gate court", ["surface"] = "asphalt", ["latitude"] = "37.4", ["longitude"] = "-97" };

        using var renamed = await browser.PostAsync("/business/spots/north-gate-plaza/edit", "edit", fields);
        Assert.Equal(HttpStatusCode.Redirect, renamed.StatusCode);
        Assert.Equal("North Gate court", server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.Name);
        Assert.NotNull(fits.InUse(RunningServer.NorthGate.Id));

        using var paved = await browser.PostAsync(
            "/business/spots/north-gate-plaza/edit", "edit", new Dictionary<string, string>(fields) { ["surface"] = "brick" });
        Assert.Equal(HttpStatusCode.Redirect, paved.StatusCode);
        Assert.Null(fits.InUse(RunningServer.NorthGate.Id));
        Assert.Null(await fits.AtAsync(RunningServer.NorthGate.Id, RunningServer.Noon, Cancel));

        using var wrong = await browser.PostAsync(
            "/business/spots/north-gate-plaza/edit", "edit", new Dictionary<string, string>(fields) { ["longitude"] = "97" });
        Assert.Contains("is a minus sign missing?</p>", await wrong.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        using var broken = await browser.PostAsync(
            "/business/spots/north-gate-plaza/edit", "edit", new Dictionary<string, string>(fields) { ["name"] = "North Gate\ncourt" });
        Assert.Contains("name holds a line break", await broken.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Equal("North Gate court", server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.Name);
    }

    [Fact]
    public async Task Spot_is_removed_only_by_who_says_so_and_comes_back_unknown_not_cool()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        await server.MeasureAsync(RunningServer.Good(RunningServer.NorthGate, RunningServer.Noon, 60));
        await server.SeenAsync(RunningServer.NorthGate, s => s.SurfaceCelsius == 60);

        using var unsure = await browser.PostAsync("/business/spots/north-gate-plaza/edit", "remove", new Dictionary<string, string>());
        Assert.Contains("tick the box", await unsure.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        using var removed = await browser.PostAsync(
            "/business/spots/north-gate-plaza/edit", "remove", new Dictionary<string, string> { ["sure"] = "yes" });
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.DoesNotContain("north-gate-plaza", await browser.GetStringAsync(new Uri("/api/spots", UriKind.Relative), Cancel), StringComparison.Ordinal);
        using var day = await browser.GetAsync(new Uri("/spots/north-gate-plaza", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, day.StatusCode);
        Assert.Single(await server.Get<Server.Store.IReadingStore>().RangeAsync(
            RunningServer.NorthGate.Id, RunningServer.Noon.AddHours(-1), RunningServer.Noon.AddHours(1), Cancel));

        using var again = await browser.PostAsync("/business/add-spot", "spot", new Dictionary<string, string>(Orchard) { ["name"] = "North Gate plaza", ["surface"] = "asphalt" });
        Assert.Equal(HttpStatusCode.Redirect, again.StatusCode);
        var back = server.Get<Dashboards.Spots.ISpotBoard>().Find(RunningServer.NorthGate.Id);
        Assert.NotNull(back);
        Assert.NotEqual(Core.Contact.GroundWord.Comfortable, back.Word);
    }

    [Fact]
    public async Task Gateway_gets_other_spots_and_is_removed()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        var gateway = GatewayId.Parse("north-gate");
        await server.Get<GatewayStore>().SetGatewayAsync(gateway, "secret", [RunningServer.NorthGate.Id], Cancel);

        using var none = await browser.PostAsync("/business/gateways/north-gate", "spots", new Dictionary<string, string>());
        Assert.Contains("no spot is chosen", await none.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        using var other = await browser.PostAsync(
            "/business/gateways/north-gate", "spots", new Dictionary<string, string> { ["spot-quarry-steps"] = "yes" });
        Assert.Equal(HttpStatusCode.Redirect, other.StatusCode);
        Assert.Equal([RunningServer.QuarrySteps.Id], server.Get<GatewayCatalogue>().All[gateway].Select(s => s.Id));

        using var removed = await browser.PostAsync(
            "/business/gateways/north-gate", "remove", new Dictionary<string, string> { ["sure"] = "yes" });
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.Empty(server.Get<GatewayCatalogue>().All);
        using var gone = await browser.GetAsync(new Uri("/business/gateways/north-gate", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, gone.StatusCode);
    }

    [Fact]
    public async Task Spot_of_another_gateway_is_marked_in_the_form_and_whose_it_was_is_said_when_it_is_taken()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        var (north, south) = (GatewayId.Parse("north-gate"), GatewayId.Parse("south-gate"));
        await server.Get<GatewayStore>().SetGatewayAsync(north, "secret", [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Cancel);
        await server.Get<GatewayStore>().SetGatewayAsync(south, "secret", [], Cancel);
        Assert.Contains("Quarry Steps, now on north-gate", await browser.GetStringAsync(new Uri("/business/gateways/south-gate", UriKind.Relative), Cancel), StringComparison.Ordinal);
        Assert.DoesNotContain(", now on", await browser.GetStringAsync(new Uri("/business/gateways/north-gate", UriKind.Relative), Cancel), StringComparison.Ordinal);

        using var set = await browser.PostAsync(
            "/business/gateways/south-gate", "spots", new Dictionary<string, string> { ["spot-quarry-steps"] = "yes" });

        Assert.Contains("Its spots are changed and sent. Quarry Steps was on north-gate; it now belongs to south-gate. north-gate no longer reads it", await set.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        var gateways = server.Get<GatewayCatalogue>().All;
        Assert.Equal(["north-gate-plaza"], gateways[north].Select(s => s.Id.Value));
        Assert.Equal(["quarry-steps"], gateways[south].Select(s => s.Id.Value));

        using var coded = await browser.PostAsync(
            "/business/enrol", "enrol", new Dictionary<string, string> { ["gateway"] = "mill", ["spot-quarry-steps"] = "yes" });
        var page = WebUtility.HtmlDecode(await coded.Content.ReadAsStringAsync(Cancel));
        Assert.Contains("Quarry Steps is on south-gate until this code is used; then it belongs to mill, and south-gate no longer reads it", page, StringComparison.Ordinal);
        Assert.Equal(["quarry-steps"], server.Get<GatewayCatalogue>().All[south].Select(s => s.Id.Value));

        Assert.IsType<RedeemOutcome.Enrolled>(await server.Get<EnrolmentCodeStore>().RedeemAsync(Code().Match(page).Groups[1].Value, Cancel));
        Assert.Empty(server.Get<GatewayCatalogue>().All[south]);
        Assert.Contains("south-gate no longer reads Quarry Steps, which is on mill since", await browser.GetStringAsync(new Uri("/business/gateways/south-gate", UriKind.Relative), Cancel), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("North Gate", "spot-north-gate-plaza", "name is &#x27;North Gate&#x27;, expected")]
    [InlineData("north-gate", "spot-nowhere", "no spot is chosen")]
    public async Task What_is_wrong_with_a_gateway_is_said(string gateway, string spot, string fault)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);

        using var answer = await browser.PostAsync("/business/enrol", "enrol", new Dictionary<string, string> { ["gateway"] = gateway, [spot] = "yes" });

        Assert.Contains(fault, await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Empty(server.Get<GatewayCatalogue>().All);
    }

    [Fact]
    public async Task Limit_is_set_in_either_unit_and_counts_at_once()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        await server.MeasureAsync(RunningServer.Good(RunningServer.NorthGate, RunningServer.Noon, 44));
        await server.SeenAsync(RunningServer.NorthGate, s => s.SurfaceCelsius == 44);

        using var done = await browser.PostAsync(
            "/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = "43.5", ["unit"] = "celsius" });
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        var now = server.Get<Dashboards.Spots.ISpotBoard>().Find(RunningServer.NorthGate.Id);
        Assert.Equal((43.5, Core.Contact.GroundWord.TooHot), (now?.LimitCelsius, now?.Word));

        using var bad = await browser.PostAsync(
            "/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = "40", ["unit"] = "fahrenheit" });
        Assert.Contains("expected 30 to 52", await bad.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Equal(43.5, server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.LimitCelsius);
    }

    [Fact]
    public async Task A_spots_cold_limit_is_set_in_either_unit_shown_and_taken_away_again()
    {
        await using var server = await RunningServer.StartAsync(settings: new Dictionary<string, string?> { ["Watch:ColdLimitCelsius"] = "1" });
        using var browser = await server.BrowserOfAsync(Role.Business);
        await server.MinuteAsync(RunningServer.NorthGate);
        Assert.Contains("told of the cold at 1 °C (34 °F) and below, as at all spots", await PageAsync(), StringComparison.Ordinal);

        using var done = await PostAsync("39.2", "fahrenheit", "120");
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        var spot = server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)!;
        Assert.Equal((4.0, Core.Surfaces.LimitChanger.Business), (spot.ColdLimitCelsius, spot.ColdLimitChangedBy));
        // It counts at once.
        Assert.Equal(4, server.Get<Dashboards.Spots.ISpotBoard>().Find(RunningServer.NorthGate.Id)?.ColdLimitCelsius);
        var page = await PageAsync();
        Assert.Contains("told of the cold at 4 °C (39 °F) and below, its own limit", page, StringComparison.Ordinal);
        Assert.Contains("name=\"cold-limit\"", page, StringComparison.Ordinal);

        using var bad = await PostAsync("-1", "celsius", "49");
        Assert.Contains("cold limit is -1 °C, expected 0 to 5 °C (32 to 41 °F), or nothing", WebUtility.HtmlDecode(await bad.Content.ReadAsStringAsync(Cancel)), StringComparison.Ordinal);
        Assert.Equal(4, server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.ColdLimitCelsius);

        using var away = await PostAsync("", "celsius", "49");
        Assert.Equal(HttpStatusCode.Redirect, away.StatusCode);
        Assert.Null(server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.ColdLimitCelsius);
        Assert.Equal(1, server.Get<Dashboards.Spots.ISpotBoard>().Find(RunningServer.NorthGate.Id)?.ColdLimitCelsius);

        Task<HttpResponseMessage> PostAsync(string cold, string unit, string limit) => browser.PostAsync(
            "/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = limit, ["cold-limit"] = cold, ["unit"] = unit });
        async Task<string> PageAsync() => WebUtility.HtmlDecode(SpacesAndEmphasis().Replace(
            await browser.GetStringAsync(new Uri("/business/spots/north-gate-plaza", UriKind.Relative), Cancel), m => m.Value.Contains('<', StringComparison.Ordinal) ? "" : " "));
    }

    [Fact]
    public async Task A_form_without_its_token_changes_nothing()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        using var form = new FormUrlEncodedContent(new Dictionary<string, string> { ["_handler"] = "limit", ["limit"] = "45", ["unit"] = "celsius" });

        using var answer = await browser.PostAsync(new Uri("/business/spots/north-gate-plaza", UriKind.Relative), form, Cancel);

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Equal(49, server.Get<SpotCatalogue>().Find(RunningServer.NorthGate.Id)?.LimitCelsius);
    }

    [Theory]
    // Dry asphalt at solar noon in July: 20 to 30 K above the air is what published measurements show; 60 K is metal, 0 K is not sun.
    [InlineData(58.0, "it makes sense", "yes")]
    [InlineData(95.0, "F) above. Does the probe see metal", "no")]
    [InlineData(28.0, "F) below. Is the ground there in shade or wet", "no")]
    public async Task First_reading_is_held_against_what_air_and_sun_explain(double surface, string words, string good)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        var path = new Uri("/business/spots/north-gate-plaza", UriKind.Relative);
        Assert.Contains("Nothing has arrived from here yet", await browser.GetStringAsync(path, Cancel), StringComparison.Ordinal);

        server.Time.Advance(TimeSpan.FromMinutes(90));
        await server.MeasureAsync(RunningServer.Good(RunningServer.NorthGate, RunningServer.Noon.AddMinutes(90), surface));

        var page = await browser.GetStringAsync(path, Cancel);
        Assert.Contains(words, page, StringComparison.Ordinal);
        Assert.Contains($"data-good=\"{good}\"", page, StringComparison.Ordinal);
        Assert.Contains($"{surface:F1} °C", WebUtility.HtmlDecode(page), StringComparison.Ordinal);
    }

    [Theory]
    //          dated, s  shown
    [InlineData(60, "58.0 °C")] // An interval ahead: the clocks may differ so much.
    [InlineData(61, "Nothing has arrived")]
    [InlineData(-179, "58.0 °C")]
    [InlineData(-180, "It is not of now")]
    public async Task First_reading_counts_as_now_by_the_rule_of_every_page(int seconds, string shown)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        await server.Get<Server.Store.IReadingStore>().AppendAsync(
            [new(RunningServer.Good(RunningServer.NorthGate, RunningServer.Noon.AddSeconds(seconds), 58), RunningServer.Noon)], Cancel);

        var page = WebUtility.HtmlDecode(await browser.GetStringAsync(new Uri("/business/spots/north-gate-plaza", UriKind.Relative), Cancel));

        Assert.Contains(shown, page, StringComparison.Ordinal);
        Assert.Equal(seconds == -180, page.Contains("It is not of now", StringComparison.Ordinal));
    }

    [GeneratedRegex("</?strong>|\\s+")]
    private static partial Regex SpacesAndEmphasis();

    [GeneratedRegex("<strong>([0-9A-Z]{5}-[0-9A-Z]{5})</strong>")]
    private static partial Regex Code();

    [GeneratedRegex("<code>(.*?enrol.*?)</code>")]
    private static partial Regex Command();
}
