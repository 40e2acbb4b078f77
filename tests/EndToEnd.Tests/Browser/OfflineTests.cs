using Microsoft.Playwright;
using PavementWatch.Core.Contact;
using PavementWatch.Dashboards.Tests.Hosting;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>Parks have bad networks: what is shown then is told as past, never as present.</summary>
public class OfflineTests(BrowserFixture browser)
{
    [Fact]
    public async Task Opened_without_a_network_the_page_tells_the_last_known_state_and_its_time()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("Offline, last known at 14:32");
        await Expect(phone.Card("north-gate-plaza").Locator(".word")).ToHaveTextAsync("too hot");
        await Expect(phone.Card("north-gate-plaza").Locator(".age")).ToHaveTextAsync("measured 1 min ago");
        await phone.PictureAsync("offline");
    }

    [Fact]
    public async Task After_three_minutes_without_the_server_nothing_is_shown_as_present()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.Page.Clock.InstallAsync();
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.Clock.FastForwardAsync("05:00");

        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Offline, last known at 14:32 (5 min ago)");
        var green = phone.Card("orchard-green");
        await Expect(green.Locator(".word")).ToHaveTextAsync("unknown");
        await Expect(green.Locator(".touch")).ToContainTextAsync("last known at 14:32, 5 min ago: comfortable.");
        await Expect(green.Locator(".age")).ToHaveTextAsync("measured 5 min ago");
        // What was hot keeps its word, marked as past: nobody may take silence for an all-clear.
        await Expect(phone.Card("north-gate-plaza").Locator(".word")).ToHaveTextAsync("too hot");
        await Expect(phone.Card("north-gate-plaza").Locator(".badge")).ToHaveTextAsync("last known");
        await phone.PictureAsync("offline-old");
    }

    [Fact]
    public async Task Kept_page_opened_hours_later_is_told_as_past_from_the_first_moment()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await phone.Context.SetOfflineAsync(true);
        // The service worker's clock cannot be moved, so the page's is: two hours on.
        await phone.Page.Clock.InstallAsync(new() { TimeDate = TimeProvider.System.GetUtcNow().AddHours(2).UtcDateTime });
        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("Offline, last known at 14:32 (2 h");
        await Expect(phone.Card("orchard-green").Locator(".word")).ToHaveTextAsync("unknown");
    }

    [Fact]
    public async Task Clock_set_back_since_the_page_was_kept_makes_the_age_unknown_and_not_young()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.Clock.InstallAsync(new() { TimeDate = TimeProvider.System.GetUtcNow().AddHours(-2).UtcDateTime });
        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("last known at an unknown time");
        await Expect(phone.Card("orchard-green").Locator(".word")).ToHaveTextAsync("unknown");
        await Expect(phone.Card("orchard-green").Locator(".age")).ToHaveTextAsync("measured at an unknown time");
    }

    [Fact]
    public async Task Wrong_clock_of_the_phone_does_not_change_an_age()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.Clock.InstallAsync(new() { TimeDate = new DateTime(2001, 1, 1, 0, 0, 0, DateTimeKind.Utc) });
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await Expect(phone.Card("north-gate-plaza").Locator(".age")).ToHaveTextAsync("measured 1 min ago");
    }

    [Fact]
    public async Task Server_that_goes_and_comes_back_is_noticed_both_times()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        await host.RefuseAsync(true);
        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("Offline, last known at 14:32");
        var spot = host.Board.All().Single(s => s.Id.Value == "mill-lane");
        host.Board.Change(spot with { SurfaceCelsius = 51, Word = GroundWord.TooHot });
        await host.RefuseAsync(false);

        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        await Expect(phone.Card("mill-lane").Locator(".word")).ToHaveTextAsync("too hot");
    }

    [Fact]
    public async Task Page_that_was_never_opened_says_that_there_is_no_connection()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.GotoAsync("/spots/mill-lane?day=2026-07-01");
        await Expect(phone.Page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("No connection");
    }

    [Fact]
    public async Task Signing_out_leaves_nothing_on_a_shared_phone()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Context.AddCookiesAsync([new() { Name = "role", Value = "Walker", Url = host.Address }]);
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        // The page signs out, and the front page after it brings its own scripts again: they are looked at after.
        await phone.Page.RouteAsync("**/js/shell.*", route => route.AbortAsync());
        phone.NetworkMayFail = true;
        await phone.Page.GetByLabel("Yes, sign out").CheckAsync();
        await phone.Page.RunAndWaitForRequestFinishedAsync(
            () => phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign out of this phone" }).ClickAsync(),
            new() { Predicate = r => r.Url.EndsWith("/leave", StringComparison.Ordinal) });

        await Expect(phone.Page.Locator("#leave")).ToBeHiddenAsync();
        Assert.Equal(0, await phone.Page.EvaluateAsync<int>("async () => (await caches.keys()).length"));
        Assert.Equal(0, await phone.Page.EvaluateAsync<int>("async () => (await navigator.serviceWorker.getRegistrations()).length"));
    }

    [Fact]
    public async Task Day_seen_before_opens_without_a_network()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".chart svg")).ToBeVisibleAsync();
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.ReloadAsync();

        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("Offline, last known at 14:32");
        await Expect(phone.Page.Locator(".chart svg")).ToContainTextAsync("limit 49 °C");
    }

    [Fact]
    public async Task Without_a_network_each_file_that_is_kept_is_there_and_the_page_has_loaded_no_other()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = true;
        await phone.OpenWithWorkerAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        var kept = await phone.Page.EvaluateAsync<string[]>("async () => (await fetch('/kept-files.json')).json()");
        await phone.Context.SetOfflineAsync(true);
        await phone.Page.ReloadAsync();
        await Expect(phone.Page.Locator("#live")).ToContainTextAsync("Offline, last known at 14:32");

        var loaded = await phone.Page.EvaluateAsync<string[]>(
            "() => performance.getEntriesByType('resource').filter(e => ['script', 'link'].includes(e.initiatorType) || e.name.endsWith('.js')).map(e => new URL(e.name).pathname).filter(p => /^\\/(js|css)\\//.test(p))");
        Assert.Contains(loaded, path => path.StartsWith("/js/text.", StringComparison.Ordinal)); // A script that other scripts ask for.
        Assert.Empty(loaded.Except(kept));
        // Each by the name that changes with its content.
        Assert.All(loaded, path => Assert.Matches("^/(js|css)/[a-z-]+\\.[a-z0-9]{10}\\.(js|css)$", path));
        var missing = await phone.Page.EvaluateAsync<string[]>(
            "async paths => (await Promise.all(paths.map(async p => [p, await fetch(p).then(a => a.ok, () => false)]))).filter(([, there]) => !there).map(([p]) => p)", kept);
        Assert.Empty(missing);
    }
}
