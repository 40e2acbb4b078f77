using System.Net;
using System.Net.Http.Json;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Walks;
using PavementWatch.Tests;

namespace PavementWatch.Dashboards.Tests;

/// <summary>Pages as the server sends them, before any script.</summary>
public partial class PageTests
{
    [Fact]
    public async Task Walkers_page_shows_every_spot_without_scripts()
    {
        await using var host = await DashboardHost.StartAsync();
        var page = await host.Client.GetStringAsync("/", Cancel);
        foreach (var spot in host.Board.All())
        {
            Assert.Contains(spot.Name, page, StringComparison.Ordinal);
            Assert.Contains($">{GroundWords.Text(spot.Word)}</span>", page, StringComparison.Ordinal);
        }

        Assert.Contains("skin is hurt after about 40 s", page, StringComparison.Ordinal);
        Assert.Contains("veterinarian", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Town_without_spots_says_so()
    {
        await using var host = await DashboardHost.StartAsync();
        host.Board.Reset();
        Assert.Contains("There are no spots yet.", await host.Client.GetStringAsync("/", Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Name_of_a_spot_cannot_become_markup_or_script()
    {
        await using var host = await DashboardHost.StartAsync();
        var spot = host.Board.All()[0];
        host.Board.Reset(spot with { Name = "</script><script>alert(1)</script><b>x" });
        foreach (var path in new[] { "/", $"/spots/{spot.Id}" })
        {
            var page = await host.Client.GetStringAsync(path, Cancel);
            Assert.DoesNotContain("<script>alert", page, StringComparison.Ordinal);
            Assert.DoesNotContain("<b>x", page, StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData("/spots/nowhere", HttpStatusCode.NotFound, "No spot has the name")]
    [InlineData("/spots/NOT%20A%20NAME", HttpStatusCode.NotFound, "No spot has the name")]
    [InlineData("/spots/mill-lane?day=14.7.2026", HttpStatusCode.BadRequest, "expected one like 2026-07-14")]
    [InlineData("/spots/mill-lane?day=9999-12-31", HttpStatusCode.NotFound, "nothing to show")]
    [InlineData("/o/guessed", HttpStatusCode.NotFound, "This link is not valid")]
    public async Task Address_that_leads_nowhere_says_what_is_wrong(string path, HttpStatusCode status, string words)
    {
        await using var host = await DashboardHost.StartAsync();
        using var answer = await host.Client.GetAsync(path, Cancel);
        Assert.Equal(status, answer.StatusCode);
        Assert.Contains(words, await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Day_page_tells_the_day_in_sentences_and_hours_and_leads_to_its_neighbours()
    {
        await using var host = await DashboardHost.StartAsync();
        var page = await host.Client.GetStringAsync("/spots/north-gate-plaza?day=2026-07-13", Cancel);
        Assert.Contains("Monday 13 July 2026", page, StringComparison.Ordinal);
        Assert.Contains("day=2026-07-12", page, StringComparison.Ordinal);
        Assert.Contains("day=2026-07-14", page, StringComparison.Ordinal);
        Assert.Contains("Too hot from", page, StringComparison.Ordinal);
        Assert.Equal(24, page.Split("<th scope=\"row\">").Length - 1);
    }

    [Fact]
    public async Task Owners_link_shows_the_walk_on_every_spots_day_and_is_never_stored()
    {
        await using var host = await DashboardHost.StartAsync(s => s.AddSingleton<IOwnerLinks, OneLink>());
        using var answer = await host.Client.GetAsync("/o/a-secret", Cancel);
        var page = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.Contains("no-store", answer.Headers.CacheControl?.ToString(), StringComparison.Ordinal);
        Assert.Contains("Pickle’s walk", page, StringComparison.Ordinal);
        Assert.Contains("kept to the grass", page, StringComparison.Ordinal);
        // Once for the whole walk, not at each of its spots.
        Assert.Equal(2, WebUtility.HtmlDecode(page).Split("Pickle's walk takes next to nothing of the heat that hurts skin.").Length);
    }

    [Theory]
    [InlineData(null, HttpStatusCode.Unauthorized)]
    [InlineData("Walker", HttpStatusCode.Forbidden)]
    [InlineData("Business", HttpStatusCode.OK)]
    public async Task Business_page_is_for_the_business(string? role, HttpStatusCode status)
    {
        await using var host = await DashboardHost.StartAsync();
        using var request = new HttpRequestMessage(HttpMethod.Get, "/business");
        if (role is not null)
            request.Headers.Add("Cookie", $"role={role}");
        using var answer = await host.Client.SendAsync(request, Cancel);
        Assert.Equal(status, answer.StatusCode);
    }

    [Fact]
    public async Task Business_list_shows_the_interval_of_what_is_estimated_both_limits_and_what_needs_a_look_first()
    {
        await using var host = await DashboardHost.StartAsync();
        using var request = new HttpRequestMessage(HttpMethod.Get, "/business");
        request.Headers.Add("Cookie", "role=Business");
        using var answer = await host.Client.SendAsync(request, Cancel);
        var page = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.Contains("46.8 °C · 116 °F, nine times in ten 43 to 51 °C (109 to 123 °F)</td>", System.Net.WebUtility.HtmlDecode(page), StringComparison.Ordinal);
        Assert.Contains("<td>52.4 °C · 126 °F</td>", System.Net.WebUtility.HtmlDecode(page), StringComparison.Ordinal);
        Assert.Contains(">49 °C (120 °F); cold 0 °C (32 °F)<span", System.Net.WebUtility.HtmlDecode(page), StringComparison.Ordinal);
        Assert.Contains("<td>none</td>", page, StringComparison.Ordinal);
        Assert.Equal(
            ["Quarry Steps", "Mill Footbridge", "North Gate plaza", "Orchard Green", "Sandpit Corner", "Mill Lane"],
            System.Text.RegularExpressions.Regex.Matches(page, "<a href=\"/spots/[a-z-]+\">([^<]+)</a>").Select(m => m.Groups[1].Value));
    }

    [Theory]
    [InlineData(null, false, false)]
    [InlineData("Walker", false, true)]
    [InlineData("Business", true, true)]
    public async Task Header_and_footer_offer_what_the_visitor_may_do(string? role, bool gateways, bool signOut)
    {
        await using var host = await DashboardHost.StartAsync();
        using var request = new HttpRequestMessage(HttpMethod.Get, "/");
        if (role is not null)
            request.Headers.Add("Cookie", $"role={role}");
        using var answer = await host.Client.SendAsync(request, Cancel);
        var page = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.Equal(gateways, page.Contains("href=\"/business\"", StringComparison.Ordinal));
        Assert.Equal(signOut, page.Contains("action=\"/leave\"", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Everything_the_service_worker_keeps_and_the_pages_ask_for_is_there()
    {
        await using var host = await DashboardHost.StartAsync();
        var pages = await host.Client.GetStringAsync("/", Cancel) + await host.Client.GetStringAsync("/spots/mill-lane", Cancel);
        var worker = await host.Client.GetStringAsync("/service-worker.js", Cancel);
        var manifest = await host.Client.GetStringAsync("/manifest.webmanifest", Cancel);
        var asked = Path().Matches(worker + pages + manifest).Select(m => m.Groups[1].Value).ToList();
        Assert.Contains(asked, path => path.StartsWith("/_content/Vizor.ECharts/js/vizor-echarts-bundle-min.", StringComparison.Ordinal));
        foreach (var path in asked.Concat(await KeptAsync(host)).Distinct())
            Assert.True((await host.Client.GetByteArrayAsync(path, Cancel)).Length > 0, $"{path} is empty");
    }

    [Fact]
    public async Task Every_script_style_and_picture_of_ours_is_kept_by_the_service_worker_under_the_name_by_which_it_is_asked_for()
    {
        await using var host = await DashboardHost.StartAsync();
        var kept = await KeptAsync(host);
        var root = System.IO.Path.Combine(SharedData.RepositoryRoot, "dashboards", "wwwroot");
        foreach (var folder in new[] { "css", "js", "icons" })
        {
            foreach (var file in Directory.GetFiles(System.IO.Path.Combine(root, folder)))
            {
                var (name, kind) = (System.IO.Path.GetFileNameWithoutExtension(file), System.IO.Path.GetExtension(file));
                var pattern = $"^/{folder}/{Regex.Escape(name)}{(folder == "icons" ? "" : "\\.[a-z0-9]+")}{Regex.Escape(kind)}$";
                Assert.True(kept.Exists(path => Regex.IsMatch(path, pattern)), $"{file} is not kept as {pattern}, but: {string.Join(' ', kept)}");
            }
        }

        Assert.Contains("/manifest.webmanifest", kept);
        Assert.DoesNotContain(kept, path => path.Contains("service-worker", StringComparison.Ordinal) || path.EndsWith(".gz", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Pages_load_scripts_and_styles_by_names_that_change_with_their_content()
    {
        await using var host = await DashboardHost.StartAsync(s => s.AddSingleton<IOwnerLinks, OneLink>());
        foreach (var address in new[] { "/", "/spots/mill-lane", "/offline", "/o/a-secret" })
        {
            var page = await host.Client.GetStringAsync(address, Cancel);
            var loaded = Regex.Matches(page, """(?:<script[^>]* src|rel="stylesheet" href)="([^"]+)""").Select(m => m.Groups[1].Value).ToList();
            Assert.True(loaded.Count >= 3, $"{address} loads {string.Join(' ', loaded)}");
            foreach (var path in loaded)
            {
                Assert.Matches(@"^/[A-Za-z./_-]+\.[a-z0-9]{10}\.(js|css)$", path);
                Assert.True((await host.Client.GetByteArrayAsync(path, Cancel)).Length > 0, $"{address} loads {path}, which is empty");
            }
        }
    }

    [Theory]
    [InlineData(Doubt.None, false, "")]
    [InlineData(Doubt.None, true, "nine times in ten 43 to 51 °C (109 to 123 °F)")]
    [InlineData(Doubt.Spike | Doubt.Wet, false,
        "newest reading in doubt: it jumped further than ground can, the ground or the sensor is wet, or was within the hour")]
    [InlineData(Doubt.Disagrees, true,
        "nine times in ten 43 to 51 °C (109 to 123 °F); newest reading in doubt: it is cooler than its weather explains")]
    public void Card_tells_interval_and_doubt(Doubt doubt, bool estimated, string expected)
    {
        var spot = Ferngate.Spots(Ferngate.Now).Single(s => s.Id.Value == "mill-footbridge");
        Assert.Equal(expected, CardText.Range(spot with { Doubt = doubt, Estimated = estimated }, TemperatureUnit.Both));
    }

    [Theory]
    [InlineData(true, "nine times in ten 43 to 51 °C (109 to 123 °F); of the estimates of the last 30 days, 91 in 100 held")]
    [InlineData(false, "")]
    public void Card_of_an_estimate_tells_how_often_they_held(bool estimated, string expected)
    {
        var spot = Ferngate.Spots(Ferngate.Now).Single(s => s.Id.Value == "mill-footbridge");
        Assert.Equal(expected, CardText.Range(spot with { Doubt = Doubt.None, Estimated = estimated, Record = new IntervalRecord(30, 1440, 1311, 144, 136, 6) }, TemperatureUnit.Both));
    }

    [Fact]
    public void Unknown_spot_never_looks_bearable()
    {
        var json = SpotNowJson.Of(Ferngate.Spots(Ferngate.Now).Single(s => s.Id.Value == "sandpit-corner"), TemperatureUnit.Both);
        Assert.Equal("unknown", json.Word);
        Assert.Equal("no temperature", json.Texts.Degrees);
        Assert.Contains("too hot", json.Texts.Touch, StringComparison.Ordinal);
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static async Task<List<string>> KeptAsync(DashboardHost host) => (await host.Client.GetFromJsonAsync<List<string>>("/kept-files.json", Cancel))!;

    [GeneratedRegex("""["'](/(?:css|js|icons|_content|manifest)[^"'?]*\.[a-z0-9]+)["']""")]
    private static partial Regex Path();

    private sealed class OneLink : IOwnerLinks
    {
        public Task<OwnerWalk?> FindAsync(string token, CancellationToken cancellationToken)
        {
            var spot = Ferngate.Place(Ferngate.Spots(Ferngate.Now)[0]);
            var day = Ferngate.Day(spot, new(2026, 7, 14), Ferngate.Now);
            var walk = new WalkMark(day.From.AddHours(7), day.From.AddHours(7.5), "Pickle", "kept to the grass.");
            return Task.FromResult<OwnerWalk?>(token == "a-secret" ? new("Pickle", "Ines", [day with { Walk = walk }], day.To.AddDays(7))
            {
                Dose = WalkDose.Of([new(spot.Name, [day])], walk.From, walk.To),
            } : null);
        }
    }
}
