using Microsoft.Playwright;
using PavementWatch.EndToEnd.Tests.Browser;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>The way back in after the first link, in a real browser with a made-up authenticator.</summary>
[Collection(nameof(SharedSlowTown))]
public sealed class PasskeyTests(SlowTown town, BrowserFixture browser)
{
    [Fact]
    public async Task A_passkey_kept_after_the_first_link_signs_in_again_without_one()
    {
        var run = await town.StartedAsync();
        // A browser has passkeys under a name only; the port is the same.
        var address = run.Address.Replace("127.0.0.1", "localhost", StringComparison.Ordinal);
        await using var phone = await Phone.OpenAsync(browser, address);
        var tools = await phone.Context.NewCDPSessionAsync(phone.Page);
        await tools.SendAsync("WebAuthn.enable");
        await tools.SendAsync("WebAuthn.addVirtualAuthenticator", new()
        {
            ["options"] = new Dictionary<string, object>
            {
                ["protocol"] = "ctap2",
                ["transport"] = "internal",
                ["hasResidentKey"] = true,
                ["hasUserVerification"] = true,
                ["isUserVerified"] = true,
            },
        });
        await phone.EnterAsync((await town.LinkOfAsync("walker Tobias")).Replace("127.0.0.1", "localhost", StringComparison.Ordinal));

        await phone.Page.Locator("#passkey-offer a").ClickAsync();
        await phone.Page.Locator("#passkey-keep").ClickAsync();
        await Expect(phone.Page.GetByRole(AriaRole.Button, new() { Name = "Remove the passkey" })).ToBeVisibleAsync();
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("[id^=spot-]").First).ToBeVisibleAsync();
        await Expect(phone.Page.Locator("#passkey-offer")).ToHaveCountAsync(0);

        // Signed out, the page asks for a link or the passkey; the answer is 401.
        phone.NetworkMayFail = true;
        await phone.Page.GetByLabel("Yes, sign out").CheckAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign out of this phone" }).ClickAsync();
        await phone.Page.Locator("#passkey-enter").ClickAsync();
        await Expect(phone.Page.Locator("[id^=spot-]").First).ToBeVisibleAsync();

        // Removed, it opens nothing.
        await phone.Page.GotoAsync("/me");
        await phone.Page.GetByLabel("Yes, remove it").CheckAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Remove the passkey" }).ClickAsync();
        await Expect(phone.Page.GetByRole(AriaRole.Button, new() { Name = "Remove the passkey" })).ToHaveCountAsync(0);
        await phone.Page.GetByLabel("Yes, sign out").CheckAsync();
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Sign out of this phone" }).ClickAsync();
        await phone.Page.Locator("#passkey-enter").ClickAsync();
        await Expect(phone.Page.Locator("#passkey-said")).Not.ToBeEmptyAsync();
        await Expect(phone.Page.Locator("[id^=spot-]")).ToHaveCountAsync(0);
    }

    [Fact]
    public async Task A_link_that_is_shown_once_is_copied_by_a_button()
    {
        var run = await town.StartedAsync();
        await using var phone = await Phone.OpenAsync(browser, run.Address, ["clipboard-read", "clipboard-write"]);
        await phone.EnterAsync(await town.LinkOfAsync("business"));
        await phone.Page.GotoAsync("/business/people/2");
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Make a link" }).ClickAsync();

        var link = await phone.Page.Locator("#new-link").TextContentAsync();
        Assert.Contains("/enter/", link, StringComparison.Ordinal);
        await phone.Page.GetByRole(AriaRole.Button, new() { Name = "Copy the link" }).ClickAsync();
        await Expect(phone.Page.Locator("#new-link-said")).ToContainTextAsync("Copied");
        Assert.Equal(link, await phone.Page.EvaluateAsync<string>("() => navigator.clipboard.readText()"));
    }

    [Theory]
    [InlineData("/me")]
    [InlineData("/business/people")]
    [InlineData("/business/people/2")]
    public async Task Pages_of_people_break_no_rule_of_axe_and_are_no_wider_than_the_screen(string path)
    {
        var run = await town.StartedAsync();
        await using var phone = await Phone.OpenAsync(browser, run.Address);
        await phone.EnterAsync(await town.LinkOfAsync("business"));
        await phone.Page.GotoAsync(path);

        Assert.Empty(await phone.TooWideAsync());
        Assert.Empty(await phone.BrokenRulesAsync());
    }
}
