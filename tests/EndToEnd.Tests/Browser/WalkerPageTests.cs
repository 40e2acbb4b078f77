using PavementWatch.Core.Contact;
using PavementWatch.Dashboards.Tests.Hosting;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>The walker's page on a phone.</summary>
public class WalkerPageTests(BrowserFixture browser)
{
    [Fact]
    public async Task Every_spot_says_its_word_its_contact_time_both_units_and_its_age()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        var card = phone.Card("north-gate-plaza");
        await Expect(card.Locator(".word")).ToHaveTextAsync("too hot");
        await Expect(card.Locator(".touch")).ToHaveTextAsync("skin is hurt after about 40 s");
        await Expect(card.Locator(".degrees")).ToHaveTextAsync("52.4 °C · 126 °F");
        await Expect(card.Locator(".age")).ToHaveTextAsync("measured 1 min ago");
        await phone.PictureAsync("walker-phone");
    }

    [Fact]
    public async Task Hottest_comes_first_and_unknown_before_what_is_bearable()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, desktop: true, dark: true);
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        await Expect(phone.Page.Locator(".card .word")).ToHaveTextAsync(
            ["burns in seconds", "too hot", "too hot", "unknown", "warm", "comfortable"]);
        await phone.PictureAsync("walker-desktop-dark");
    }

    [Fact]
    public async Task Live_event_changes_the_card_in_place()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        var spot = host.Board.All().Single(s => s.Id.Value == "orchard-green");
        host.Board.Change(spot with
        {
            SurfaceCelsius = 49.0,
            Word = GroundWord.TooHot,
            ContactTime = TimeSpan.FromSeconds(300),
            MeasuredAt = spot.Now,
        });

        var card = phone.Card("orchard-green");
        await Expect(card.Locator(".word")).ToHaveTextAsync("too hot");
        await Expect(card.Locator(".touch")).ToHaveTextAsync("skin is hurt after about 5 min");
        await Expect(card.Locator(".degrees")).ToHaveTextAsync("49.0 °C · 120 °F");
        await Expect(card).ToHaveAttributeAsync("data-word", "tooHot");
    }
}
