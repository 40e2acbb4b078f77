using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using PavementWatch.EndToEnd.Tests.Browser;
using PavementWatch.Server.Demo;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>Odile sends a large file: too large, stopped on the way, and one that is refused by its line.</summary>
[Collection(nameof(SharedSlowTown))]
public sealed class LargeFileInTheBrowserTests(SlowTown town, BrowserFixture browser) : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-large-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_file_over_the_limit_is_refused_with_a_sentence_with_and_without_scripts(bool scripts)
    {
        await using var desk = await OnThePageAsync(scripts);
        // Holes take no room on the disk.
        await desk.Page.GetByLabel("CSV file").SetInputFilesAsync(Sparse(1_100L << 20));
        desk.NetworkMayFail = true;
        await desk.Page.GetByRole(AriaRole.Button, new() { Name = "Start" }).ClickAsync();
        await Expect(desk.Page.Locator("main")).ToContainTextAsync(new Regex("(has|It has) 110[01] MiB, and this page takes 1024 MiB"));
        await desk.PictureAsync($"bench-too-large{(scripts ? "" : "-plain")}");
        if (scripts)
            await Expect(desk.Page.GetByLabel("Latitude")).ToHaveValueAsync("37.4");
    }

    [Fact]
    public async Task Sending_shows_how_much_has_arrived_and_can_be_stopped()
    {
        await using var desk = await OnThePageAsync(scripts: true);
        desk.NetworkMayFail = true;
        // As slow as a phone's line, so that there is something to stop.
        var tools = await desk.Context.NewCDPSessionAsync(desk.Page);
        await tools.SendAsync("Network.emulateNetworkConditions", new()
        {
            ["offline"] = false,
            ["latency"] = 0,
            ["downloadThroughput"] = -1,
            ["uploadThroughput"] = 4 << 20,
        });
        await desk.Page.GetByLabel("CSV file").SetInputFilesAsync(Sparse(300L << 20));
        await desk.Page.GetByRole(AriaRole.Button, new() { Name = "Start" }).ClickAsync();
        await Expect(desk.Page.Locator("#sending-said")).ToContainTextAsync(new Regex("% of 300 MiB"));
        await Expect(desk.Page.Locator("#sent")).ToBeVisibleAsync();
        await desk.PictureAsync("bench-sending");
        await desk.Page.GetByRole(AriaRole.Button, new() { Name = "Stop sending" }).ClickAsync();
        await Expect(desk.Page.Locator("#faults")).ToContainTextAsync("You stopped it. Nothing was started");
        await Expect(desk.Page.GetByRole(AriaRole.Button, new() { Name = "Start" })).ToBeEnabledAsync();
    }

    [Fact]
    public async Task A_file_refused_by_its_line_leaves_the_form_as_it_was_filled_in()
    {
        await using var phone = await OnThePageAsync(scripts: true, desktop: false);
        phone.NetworkMayFail = true;
        await phone.Page.GetByLabel("CSV file").SetInputFilesAsync(new FilePayload
        {
            Name = "local.csv",
            MimeType = "text/csv",
            Buffer = Encoding.UTF8.GetBytes("time_utc,air_celsius,surface_celsius\n2026-07-01 12:00,20,30\n"),
        });
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Start" }).ClickAsync();
        await Expect(phone.Page.Locator("#faults")).ToContainTextAsync("line 2, column time_utc: '2026-07-01 12:00'");
        await Expect(phone.Page.Locator("#faults")).ToBeFocusedAsync();
        await Expect(phone.Page.GetByLabel("Longitude")).ToHaveValueAsync("-97");
        await phone.PictureAsync("bench-refused-line", whole: true);
    }

    private async Task<Phone> OnThePageAsync(bool scripts, bool desktop = true)
    {
        var run = await town.StartedAsync();
        var phone = await Phone.OpenAsync(browser, run.Address, desktop: desktop, scripts: scripts);
        await phone.EnterAsync(await town.LinkOfAsync("analyst Odile"));
        await phone.Page.GotoAsync("/analyst/backtest");
        await phone.Page.GetByLabel("Latitude").FillAsync("37.4");
        await phone.Page.GetByLabel("Longitude").FillAsync("-97");
        return phone;
    }

    private string Sparse(long bytes)
    {
        var path = Path.Combine(_folder, $"{DemoDay.Summer.Morning:yyyy}.csv");
        using var file = File.Create(path);
        file.SetLength(bytes);
        return path;
    }
}
