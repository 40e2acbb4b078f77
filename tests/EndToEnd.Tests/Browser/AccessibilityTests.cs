using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Dashboards.Setup;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Dashboards.Walks;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>For eyes, ears and hands of every kind.</summary>
public class AccessibilityTests(BrowserFixture browser)
{
    [Theory]
    [InlineData("/")]
    [InlineData("/spots/north-gate-plaza")]
    [InlineData("/spots/nowhere")]
    [InlineData("/business")]
    [InlineData("/business/add-spot")]
    [InlineData("/business/enrol")]
    [InlineData("/business/spots/north-gate-plaza")]
    [InlineData("/business/spots/north-gate-plaza/edit")]
    [InlineData("/business/gateways/north-gate")]
    [InlineData("/o/a-secret")]
    [InlineData("/offline")]
    public async Task Page_breaks_no_rule_of_axe_by_day_or_night(string path)
    {
        await using var host = await DashboardHost.StartAsync(s => s
            .AddSingleton<IOwnerLinks, OneOwnerLink>().AddSingleton<IGatewayBoard, TwoGateways>().AddSingleton<ISetup, OneCode>());
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        phone.NetworkMayFail = path.EndsWith("nowhere", StringComparison.Ordinal);
        await phone.Context.AddCookiesAsync([new() { Name = "role", Value = "Business", Url = host.Address }]);
        await phone.Page.GotoAsync(path);
        if (path == "/")
            await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        if (path.StartsWith("/spots/n", StringComparison.Ordinal) && !phone.NetworkMayFail)
            await Expect(phone.Page.Locator(".chart svg")).ToBeVisibleAsync();
        if (path.Length > "/business".Length && path.StartsWith("/business", StringComparison.Ordinal))
            await FillInAsync(phone.Page);
        Assert.Empty(await phone.BrokenRulesAsync($"axe{path.Replace('/', '-')}"));
    }

    [Fact]
    public async Task Everything_is_reached_and_seen_by_keyboard()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, ["geolocation"], desktop: true);
        await phone.Context.SetGeolocationAsync(new() { Latitude = 37.415f, Longitude = -97.0f });
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        await phone.Page.Keyboard.PressAsync("Tab");
        await Expect(phone.Page.GetByText("Skip to content")).ToBeInViewportAsync();
        await phone.Page.Keyboard.PressAsync("Enter");
        await phone.Page.Keyboard.PressAsync("Tab");
        var nearest = phone.Page.GetByRole(AriaRole.Button, new() { Name = "Nearest first" });
        await Expect(nearest).ToBeFocusedAsync();
        Assert.Equal("solid", await nearest.EvaluateAsync<string>("e => getComputedStyle(e).outlineStyle"));

        await phone.Page.Keyboard.PressAsync("Enter");
        await Expect(nearest).ToHaveAttributeAsync("aria-pressed", "true");
        // 37.415 N is nearest to the names of fifteen letters (the fixture's latitudes follow their length).
        await Expect(phone.Page.Locator(".card .name").First).ToHaveTextAsync("Mill Footbridge");
        await phone.Page.Keyboard.PressAsync("Tab");
        await Expect(phone.Card("mill-footbridge").GetByRole(AriaRole.Link)).ToBeFocusedAsync();
        await phone.Page.Keyboard.PressAsync("Enter");
        await phone.Page.WaitForURLAsync("**/spots/mill-footbridge");
    }

    [Fact]
    public async Task Everything_to_press_is_as_large_as_a_thumb()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        foreach (var path in new[] { "/", "/spots/north-gate-plaza" })
        {
            await phone.Page.GotoAsync(path);
            var small = await phone.Page.EvaluateAsync<string[]>(
                """
                () => [...document.querySelectorAll('main a, main button, main summary, .top a')]
                    .filter(e => e.checkVisibility()).map(e => [e, e.getBoundingClientRect()])
                    .filter(([, b]) => b.height < 48 || b.width < 48).map(([e, b]) => `${e.outerHTML} ${b.width} x ${b.height}`)
                """);
            Assert.Empty(small);
        }
    }

    [Fact]
    public async Task Nothing_is_cut_off_on_a_small_phone_or_with_large_type()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.SetViewportSizeAsync(320, 640);
        foreach (var path in new[] { "/", "/spots/north-gate-plaza" })
        {
            await phone.Page.GotoAsync(path);
            await phone.Page.EvaluateAsync("() => document.querySelector('.button').getBoundingClientRect()");
            Assert.True(
                await phone.Page.EvaluateAsync<bool>("() => document.documentElement.scrollWidth <= innerWidth"),
                $"{path} is wider than the screen");
        }

        await phone.PictureAsync("small-phone");
    }

    [Theory]
    [InlineData("/")]
    [InlineData("/spots/north-gate-plaza")]
    [InlineData("/business")]
    [InlineData("/business/enrol")]
    [InlineData("/business/spots/north-gate-plaza")]
    [InlineData("/business/spots/north-gate-plaza/edit")]
    [InlineData("/business/gateways/north-gate")]
    public async Task A_name_without_a_space_makes_no_page_wider_than_a_phone_and_tables_scroll_in_themselves(string path)
    {
        await using var host = await DashboardHost.StartAsync(s => s
            .AddSingleton<IOwnerLinks, OneOwnerLink>().AddSingleton<IGatewayBoard, TwoGateways>().AddSingleton<ISetup, OneCode>());
        host.Board.Reset([.. host.Board.All().Select(s => s with { Name = $"{s.Name}{new string('g', 60)}" })]);
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Context.AddCookiesAsync([new() { Name = "role", Value = "Business", Url = host.Address }]);
        await phone.Page.GotoAsync(path);

        Assert.Empty(await phone.TooWideAsync());
    }

    [Fact]
    public async Task No_one_signs_out_by_a_slip_of_the_thumb()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Context.AddCookiesAsync([new() { Name = "role", Value = "Walker", Url = host.Address }]);
        await phone.Page.GotoAsync("/");
        var leave = phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign out of this phone" });
        await leave.ClickAsync();

        // The browser asks for the tick, and nothing is sent.
        await Expect(phone.Page.GetByLabel("Yes, sign out")).ToBeFocusedAsync();
        await phone.Page.ReloadAsync();
        await Expect(leave).ToBeVisibleAsync();
    }

    [Fact]
    public async Task Position_that_is_refused_is_answered_with_a_remedy()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Nearest first" }).ClickAsync();
        await Expect(phone.Page.Locator("#nearest-said")).ToContainTextAsync("then press again");
    }

    [Fact]
    public async Task Ages_read_the_same_from_the_server_and_from_the_script()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/offline");
        double[] seconds = [-5, 0, 9.9, 10, 59.9, 60, 61, 3_599, 3_600, 3_660, 86_399, 86_400, 172_799, 172_800, 1e7];
        var scripts = await phone.Page.EvaluateAsync<string[]>(
            "async seconds => { const { ago } = await import('/js/text.js'); return seconds.map(ago); }", seconds);
        Assert.Equal(seconds.Select(s => Spans.Ago(TimeSpan.FromSeconds(s))), scripts);
    }

    /// <summary>Sends a setup form, so that its answer, a code or a fault, is looked at too.</summary>
    private static async Task FillInAsync(IPage page)
    {
        if (await page.Locator("#f-gateway").IsVisibleAsync())
        {
            await page.FillAsync("#f-gateway", "north-gate");
            await page.Locator("input[type=checkbox]").First.CheckAsync();
        }

        await page.Locator("form.fields button[type=submit]").First.ClickAsync();
        await Expect(page.Locator("#code, #fault")).ToBeVisibleAsync();
    }

    private sealed class OneCode : ISetup
    {
        public Task<string?> AddSpotAsync(Spot spot, CancellationToken cancellationToken) => Task.FromResult<string?>("no");

        public Task<string?> SetLimitsAsync(SpotId spot, double limitCelsius, double? coldLimitCelsius, CancellationToken cancellationToken) =>
            Task.FromResult<string?>("limit is 20, expected 30 to 52 °C");

        public Spot? FindSpot(SpotId spot) => Ferngate.Place(Ferngate.Spots(Ferngate.Now).Single(s => s.Id == spot));

        public Task<string?> EditSpotAsync(Spot spot, CancellationToken cancellationToken) => Task.FromResult<string?>("no");

        public Task<string?> RemoveSpotAsync(SpotId spot, CancellationToken cancellationToken) => Task.FromResult<string?>("no");

        public Task<(IReadOnlyList<string> Moved, string? Fault)> SetGatewaySpotsAsync(
            GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken) =>
            Task.FromResult<(IReadOnlyList<string>, string?)>(([], "no"));

        public Task<string?> RemoveGatewayAsync(GatewayId gateway, CancellationToken cancellationToken) => Task.FromResult<string?>("no");

        public Task<(NewCode? Code, string? Fault)> NewCodeAsync(GatewayId gateway, IReadOnlyList<SpotId> spots, CancellationToken cancellationToken)
        {
            const string command = "sudo gateway enrol 7QK2M-9XB4J --server http://walks.ferngate.example:5080 --allow-unencrypted";
            return Task.FromResult<(NewCode?, string?)>(
                (new("7QK2M-9XB4J", Ferngate.Now.AddMinutes(30), command, Server.Gateways.QrSvg.Of(command), "the address is not encrypted"), null));
        }

        public Task<FirstLook?> LookAsync(SpotId spot, CancellationToken cancellationToken) => Task.FromResult<FirstLook?>(
            new(new(spot, Ferngate.Now.AddMinutes(-1)) { SurfaceCelsius = 57, AirCelsius = 35, SupplyVolts = 11.2 }, Ferngate.Now)
            {
                IsCurrent = true,
                LowerCelsius = 50,
                UpperCelsius = 62,
            });
    }

    private sealed class OneOwnerLink : IOwnerLinks
    {
        public Task<OwnerWalk?> FindAsync(string token, CancellationToken cancellationToken)
        {
            var days = Ferngate.Spots(Ferngate.Now).Take(2).Select(s => Ferngate.Day(Ferngate.Place(s), new(2026, 7, 14), Ferngate.Now));
            return Task.FromResult<OwnerWalk?>(new("Pickle", "Ines",
                [.. days.Select(d => d with { Walk = new(d.From.AddHours(7), d.From.AddHours(7.5), "Pickle", "kept to the grass.") })],
                Ferngate.Now.AddDays(7)));
        }
    }

    private sealed class TwoGateways : IGatewayBoard
    {
        public IReadOnlyList<GatewayNow> All() =>
        [
            new("north-gate", true, Ferngate.Now.AddSeconds(-40), 5.1, 0, 0, ["North Gate plaza", "Quarry Steps"]),
            new("orchard", false, Ferngate.Now.AddMinutes(-42), null, 3, 1, ["Orchard Green", "Mill Footbridge"]),
        ];
    }
}
