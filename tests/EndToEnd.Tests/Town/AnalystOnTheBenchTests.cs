using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.EndToEnd.Tests.Browser;
using PavementWatch.Server.Demo;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Weather;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>Odile at work in a real browser: checks, residuals, a waiting fit, a backtest.</summary>
[Collection(nameof(SharedSlowTown))]
public sealed class AnalystOnTheBenchTests(SlowTown town, BrowserFixture browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("/analyst", true)]
    [InlineData("/analyst", false)]
    [InlineData("/analyst/spots/north-gate-plaza", true)]
    [InlineData("/analyst/spots/north-gate-plaza", false)]
    [InlineData("/analyst/backtest", false)]
    [InlineData("/checks/new", false)]
    [InlineData("/checks/import", false)]
    public async Task Page_breaks_no_rule_of_axe_and_is_no_wider_than_the_screen(string path, bool desktop)
    {
        var run = await town.StartedAsync();
        await using var phone = await Phone.OpenAsync(browser, run.Address, desktop: desktop);
        await phone.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await phone.Page.GotoAsync(path);
        if (path.StartsWith("/analyst", StringComparison.Ordinal) && !path.EndsWith("backtest", StringComparison.Ordinal))
            await Expect(phone.Page.Locator("figure .canvas svg").First).ToBeVisibleAsync();
        Assert.Empty(await phone.TooWideAsync());
        Assert.Empty(await phone.BrokenRulesAsync($"bench{path.Replace('/', '-')}{(desktop ? "-desk" : "")}"));
    }

    [Fact]
    public async Task A_check_is_entered_with_the_thumb_and_without_scripts_alike()
    {
        var run = await town.StartedAsync();
        foreach (var scripts in new[] { true, false })
        {
            await using var phone = await Phone.OpenAsync(browser, run.Address, scripts: scripts);
            await phone.EnterAsync(await town.LinkOfAsync("walker Ines"));
            await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Check", Exact = true }).ClickAsync();
            await phone.Page.GetByLabel("Spot", new() { Exact = true }).SelectOptionAsync("mill-footbridge");
            await phone.Page.GetByLabel("Temperature shown").FillAsync(scripts ? "101.3" : "102,2");
            await phone.Page.GetByLabel("°F").CheckAsync();
            await phone.Page.GetByLabel("in shade").CheckAsync();
            await phone.Page.GetByLabel("Thermometer", new() { Exact = true }).FillAsync("Ines’s own");
            await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Keep this check" }).ClickAsync();
            await Expect(phone.Page.Locator("#done")).ToContainTextAsync("Your check is kept: Mill Footbridge");
            // (101.3 − 32) · 5/9 = 38.5 and (102.2 − 32) · 5/9 = 39.0 by definition.
            await Expect(phone.Page.Locator("tbody tr").First).ToContainTextAsync(scripts ? "38.5 °C · 101 °F" : "39.0 °C · 102 °F");
        }
    }

    [Fact]
    public async Task Odiles_checks_agree_with_the_sensor_and_the_page_says_so_with_its_limits()
    {
        var run = await town.StartedAsync();
        await using var desk = await Phone.OpenAsync(browser, run.Address, desktop: true);
        await desk.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await desk.Page.GetByRole(AriaRole.Link, new() { Name = "Offsets" }).ClickAsync();
        await desk.Page.GetByRole(AriaRole.Link, new() { Name = "North Gate plaza" }).First.ClickAsync();
        // The simulated sensor is within a kelvin or so of the invented ground, and so is her thermometer.
        await Expect(desk.Page.Locator("#verdict")).ToContainTextAsync(new Regex("Sensor: The sensor reads .* in 9 checks; .*: within what is allowed"));
        await Expect(desk.Page.Locator("#verdict")).ToContainTextAsync(new Regex("Estimate without the sensor: The estimate reads .* in 9 checks"));
        var plot = desk.Page.Locator("figure:has(#plot-agree-sensor) .canvas");
        foreach (var words in new[] { "bias", "lower limit", "upper limit" })
            await Expect(plot).ToContainTextAsync(words);
        await Expect(desk.Page.Locator("figure:has(#plot-calibration) tbody tr")).ToHaveCountAsync(6);
    }

    [Fact]
    public async Task Wind_and_measured_sun_of_the_mast_have_their_residuals_and_the_day_says_whose_air_is_ahead()
    {
        // The mast ends with the morning at which the town begins: a night that passed would have made a fit without it.
        var run = await town.StartedAsync();
        await using var desk = await Phone.OpenAsync(browser, run.Address, desktop: true);
        await desk.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await desk.Page.GotoAsync("/analyst/spots/north-gate-plaza");
        foreach (var (plot, axis) in new[] { ("wind", "wind (m/s)"), ("measured-sun", "measured sun (W/m²)") })
        {
            var figure = desk.Page.Locator($"figure:has(#plot-{plot})");
            await Expect(figure.Locator(".canvas svg")).ToContainTextAsync(axis);
            await figure.Locator("summary").ClickAsync();
            await Expect(figure.Locator("tbody tr").Nth(1)).ToBeVisibleAsync();
        }

        await Expect(desk.Page.Locator("#inputs")).ToContainTextAsync("a station’s wind and a station’s sun.");
        await Expect(desk.Page.Locator("#missing")).ToHaveCountAsync(0);
        await desk.Page.GetByRole(AriaRole.Link, new() { Name = "The day’s curve" }).ClickAsync();
        // The town's clock runs on; the forecast of its first morning reaches ten days.
        await Expect(desk.Page.Locator(".summary")).ToContainTextAsync(new Regex("The hours ahead: air from the forecast of (14 July )?06:00"));
    }

    [Fact]
    public async Task A_waiting_fit_is_refused_with_a_reason_that_stays()
    {
        var run = await town.StartedAsync();
        var services = run.Server.Services;
        var steps = services.GetRequiredService<SpotCatalogue>().Find(SpotId.Parse("quarry-steps"))!;
        var weather = await services.GetRequiredService<SiteWeather>().LoadAsync(
            steps, DemoDay.Summer.Morning.AddDays(-5), DemoDay.Summer.Morning, Cancel);
        // A lorry's engine stood over the steps, as it were.
        var fit = new OffsetModel(new OffsetOptions()).Fit(
            steps, [.. weather.Select(w => w with { SurfaceCelsius = w.SurfaceCelsius + 9 })], DemoDay.Summer.Morning.AddSeconds(7));
        await services.GetRequiredService<FitStore>().AddAsync(fit, FitStanding.Waiting, "worse: 9.10 K against 0.70 K on the last 3 days; the analyst decides", Cancel);

        await using var phone = await Phone.OpenAsync(browser, run.Address);
        await phone.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await phone.Page.GotoAsync("/analyst");
        await phone.Page.Locator(".waits").GetByRole(AriaRole.Link, new() { Name = "Quarry Steps" }).ClickAsync();
        await phone.PictureAsync("bench-waiting");
        await phone.Page.GetByLabel("Why").FillAsync("A lorry stood there with its engine running.");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Refuse it" }).ClickAsync();
        await Expect(phone.Page.Locator("#decided")).ToContainTextAsync("was refused");
        await Expect(phone.Page.Locator("#decisions")).ToContainTextAsync("Odile refused");
        await Expect(phone.Page.Locator("#decisions")).ToContainTextAsync("A lorry stood there with its engine running.");
        await Expect(phone.Page.Locator(".waits")).ToHaveCountAsync(0);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_backtest_shows_how_far_it_is_and_ends_in_table_plot_and_json(bool scripts)
    {
        var run = await town.StartedAsync();
        await using var desk = await Phone.OpenAsync(browser, run.Address, desktop: true, scripts: scripts);
        await desk.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await desk.Page.GotoAsync("/analyst/backtest");
        await desk.Page.GetByLabel("CSV file").SetInputFilesAsync(new FilePayload
        {
            Name = "invented.csv",
            MimeType = "text/csv",
            Buffer = System.Text.Encoding.UTF8.GetBytes(InventedDays(scripts ? 12 : 6)),
        });
        await desk.Page.GetByLabel("Latitude").FillAsync("37.4");
        await desk.Page.GetByLabel("Longitude").FillAsync("-97");
        await desk.Page.GetByRole(AriaRole.Button, new() { Name = "Start" }).ClickAsync();
        await Expect(desk.Page.Locator("#result")).ToContainTextAsync("below 1 the model is better");
        await Expect(desk.Page.Locator("#scores tbody tr")).ToHaveCountAsync(16);
        if (scripts)
            await Expect(desk.Page.Locator("figure .canvas svg")).ToBeVisibleAsync();
        await desk.PictureAsync($"bench-backtest-result{(scripts ? "" : "-plain")}", whole: true);
        var waiting = desk.Page.WaitForDownloadAsync();
        await desk.Page.GetByRole(AriaRole.Link, new() { Name = "Download as JSON" }).ClickAsync();
        var json = await File.ReadAllTextAsync(await (await waiting).PathAsync(), Cancel);
        Assert.StartsWith("{\"darkSensor\":{\"all\":{\"n\":", json, StringComparison.Ordinal);
        if (scripts)
        {
            Assert.Empty(await desk.BrokenRulesAsync());
        }
    }

    private static string InventedDays(int days) =>
        "time_utc,air_celsius,surface_celsius,humidity_percent\n" + string.Concat(Enumerable.Range(0, days * 24).Select(i =>
        {
            var at = DemoDay.Summer.Morning.AddDays(-days).AddHours(i);
            var sky = DemoDay.Summer.At(at);
            var sun = sky.SolarWattsPerSquareMeter / 1000;
            return string.Create(
                CultureInfo.InvariantCulture,
                $"{at.UtcDateTime:yyyy-MM-dd'T'HH:mm:ss}Z,{sky.AirCelsius:F2},{sky.AirCelsius + (24 * sun) - 2 + (i * 7 % 5 * 0.2):F2},{sky.HumidityPercent:F0}\n");
        }));
}
