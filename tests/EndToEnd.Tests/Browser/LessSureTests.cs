using System.Text.RegularExpressions;
using PavementWatch.Core.Offsets;
using PavementWatch.Dashboards.Tests.Hosting;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>Why an estimate is less sure, on the card, in the day's sentences and where the curve is touched.</summary>
public class LessSureTests(BrowserFixture browser)
{
    [Fact]
    public async Task A_card_says_why_its_estimate_is_less_sure_as_soon_as_it_is_and_no_longer()
    {
        await using var host = await DashboardHost.StartAsync();
        var spot = host.Board.All().Single(s => s.Estimated);
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        var card = phone.Card(spot.Id.Value);
        await Expect(card.Locator(".doubt")).ToBeHiddenAsync();
        var before = await card.Locator(".word").TextContentAsync();

        host.Board.Change(spot with { EstimateDoubt = EstimateDoubt.MaybeWet | EstimateDoubt.HotterThanSeen });
        await Expect(card.Locator(".doubt")).ToHaveTextAsync(new Regex("^Less sure: hotter air .*; may be wet, then probably cooler than this, but do not count on it$"));
        await Expect(card.Locator(".word")).ToHaveTextAsync(before!);
        await phone.PictureAsync("less-sure-card", only: card);
        Assert.Empty(await phone.BrokenRulesAsync());

        host.Board.Change(spot with { Estimated = false });
        await Expect(card.Locator(".doubt")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task A_day_says_when_its_estimate_is_less_sure()
    {
        await using var host = await DashboardHost.StartAsync();
        host.Board.MakeDay = (spot, day) =>
        {
            var made = Ferngate.Day(spot, day, Ferngate.Now);
            return made with
            {
                Points = [.. made.Points.Select(p => p.EstimateCelsius is null ? p : p with
                {
                    Doubt = EstimateDoubt.HotterThanSeen | (p.At > made.From.AddHours(20) ? EstimateDoubt.MaybeWet : 0),
                })],
            };
        };
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".summary")).ToContainTextAsync(new Regex("From 20:05 to 23:55 the estimate is less sure: may be wet"));
        await Expect(phone.Page.Locator("tbody tr").Nth(21)).ToContainTextAsync("less sure");
        await phone.PictureAsync("less-sure-day", whole: true);
        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        var box = await phone.Page.Locator(".chart svg").BoundingBoxAsync() ?? throw new InvalidOperationException("no chart");
        await phone.Page.Mouse.MoveAsync(box.X + (box.Width * 0.8f), box.Y + (box.Height / 2));
        await Expect(phone.Page.Locator("[data-part=readout]")).ToContainTextAsync("less sure: hotter air than beside any reading here");
        await phone.PictureAsync("less-sure-readout");
    }
}
