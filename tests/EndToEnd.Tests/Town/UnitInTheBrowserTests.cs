using System.Text.RegularExpressions;
using Microsoft.Playwright;
using PavementWatch.EndToEnd.Tests.Browser;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>A walker chooses a unit and reads everything in it.</summary>
[Collection(nameof(SharedSlowTown))]
public sealed class UnitInTheBrowserTests(SlowTown town, BrowserFixture browser)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_unit_is_chosen_by_keyboard_with_and_without_scripts(bool scripts)
    {
        var run = await town.StartedAsync();
        await using var phone = await Phone.OpenAsync(browser, run.Address, scripts: scripts);
        await phone.EnterAsync(await town.LinkOfAsync("walker Tobias"));
        await phone.Page.GetByRole(AriaRole.Link, new() { Name = "Your settings" }).ClickAsync();
        var both = phone.Page.GetByRole(AriaRole.Radio, new() { Name = "°C and °F" });
        await Expect(both).ToBeCheckedAsync();

        await both.FocusAsync();
        await phone.Page.Keyboard.PressAsync("ArrowDown");
        await phone.Page.Keyboard.PressAsync("ArrowDown");
        await Expect(phone.Page.GetByRole(AriaRole.Radio, new() { Name = "°F", Exact = true })).ToBeCheckedAsync();
        await phone.Page.Keyboard.PressAsync("Enter");
        await Expect(phone.Page.Locator("#unit-kept")).ToContainTextAsync("Temperatures are in °F for you");
        await Expect(phone.Page.GetByRole(AriaRole.Radio, new() { Name = "°F", Exact = true })).ToBeCheckedAsync();

        await phone.Page.GotoAsync("/");
        await Expect(phone.Card("north-gate-plaza").Locator(".degrees")).ToHaveTextAsync(new Regex("^(≈ )?[0-9]+ °F$"));

        // As it was, for those who come after.
        await phone.Page.GotoAsync("/me");
        await phone.Page.GetByRole(AriaRole.Radio, new() { Name = "°C and °F" }).CheckAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Show temperatures so" }).ClickAsync();
        await Expect(phone.Page.Locator("#unit-kept")).ToContainTextAsync("Temperatures are in °C and °F for you");
    }
}
