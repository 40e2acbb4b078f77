using Microsoft.Playwright;
using PavementWatch.EndToEnd.Tests.Browser;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>Every page with a table, as wide as a phone.</summary>
[Collection(nameof(SharedSlowTown))]
public sealed class NarrowPagesTests(SlowTown town, BrowserFixture browser)
{
    private static readonly string[] Paths =
    [
        "/", "/spots/north-gate-plaza", "/me", "/business", "/business/people", "/business/people/2", "/business/spots/north-gate-plaza", "/business/enrol",
        "/checks/new", "/checks/import", "/analyst", "/analyst/spots/north-gate-plaza", "/analyst/backtest",
    ];

    [Fact]
    public async Task No_page_is_wider_than_a_phone_and_each_table_scrolls_in_itself_by_keyboard_too()
    {
        var run = await town.StartedAsync();
        await using var phone = await Phone.OpenAsync(browser, run.Address);
        await phone.EnterAsync(await town.LinkOfAsync("business"));
        var tables = 0;
        foreach (var path in Paths)
        {
            await phone.Page.GotoAsync(path);
            // What is folded away is as wide as what is not.
            await phone.Page.EvaluateAsync("() => { for (const d of document.querySelectorAll('details')) d.open = true; }");
            var found = await phone.TooWideAsync();
            Assert.True(found.Length == 0, $"{path}: {string.Join(Environment.NewLine, found)}");
            tables += await phone.Page.Locator("table").CountAsync();
        }

        Assert.True(tables >= 10, $"only {tables} tables were looked at");
        await phone.Page.GotoAsync("/business");
        var spots = phone.Page.GetByRole(AriaRole.Region, new() { Name = "Spots", Exact = true });
        await spots.FocusAsync();
        await phone.Page.Keyboard.PressAsync("ArrowRight");
        await phone.UntilAsync("() => document.querySelector('[aria-label=\"Spots\"]').scrollLeft > 0");
        await Expect(spots).ToBeFocusedAsync();
    }
}
