using System.Text.RegularExpressions;
using PavementWatch.Dashboards.Tests.Hosting;
using PavementWatch.Dashboards.Texts;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>What scripts write is in the unit of who reads it.</summary>
public class UnitTests(BrowserFixture browser)
{
    private static readonly TemperatureUnit[] All = Enum.GetValues<TemperatureUnit>();

    [Fact]
    public async Task Ground_reads_the_same_from_the_server_and_from_the_script()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/offline");
        double[] ground = [-20.3, -0.2, 0, 0.1, 0.2, 4.9, 33.2, 42.4, 42.5, 48.6, 48.8, 48.9, 49, 49.2, 55.9, 56, 60];
        double[] limits = [30, 42.5, 48.89, 49, 52];
        var scripts = await phone.Page.EvaluateAsync<string[]>(
            """
            async ([ground, limits, units]) => {
                const text = await import('/js/text.js');
                return units.flatMap(unit => limits.flatMap(limit => ground.map(celsius => text.ground(celsius, limit, unit))));
            }
            """,
            new object[] { ground, limits, All.Select(UnitText.Name).ToArray() });
        Assert.Equal(All.SelectMany(unit => limits.SelectMany(limit => ground.Select(celsius => GroundTexts.Of(celsius, limit, unit)))), scripts);
    }

    [Theory]
    [InlineData(TemperatureUnit.Celsius, "limit 49 °C", "50 °C", "°F", @"surface \d\d\.\d °C · air \d\d\.\d °C$")]
    [InlineData(TemperatureUnit.Fahrenheit, "limit 120 °F", "140 °F", "°C", @"surface \d+ °F · air \d+ °F$")]
    public async Task Curve_and_read_out_are_in_the_unit_that_was_chosen(TemperatureUnit unit, string limit, string tick, string other, string readout)
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Context.AddCookiesAsync([new() { Name = "role", Value = "Walker", Url = host.Address }, new() { Name = "unit", Value = unit.ToString(), Url = host.Address }]);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");

        var chart = phone.Page.Locator(".chart svg");
        await Expect(chart).ToContainTextAsync(limit);
        await Expect(chart).ToContainTextAsync(tick);
        await Expect(chart).Not.ToContainTextAsync(other);
        await phone.PictureAsync($"day-{UnitText.Name(unit)}", only: phone.Page.Locator("figure.curve"));
        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        var box = await chart.BoundingBoxAsync() ?? throw new InvalidOperationException("no chart");
        await phone.Page.Mouse.MoveAsync(box.X + (box.Width / 2), box.Y + (box.Height / 2));
        await Expect(phone.Page.Locator("[data-part=readout]")).ToHaveTextAsync(new Regex(readout));

        // Cards as the live stream writes them.
        await phone.Page.GotoAsync("/");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");
        var plaza = host.Board.All().Single(s => s.Id.Value == "north-gate-plaza");
        host.Board.Change(plaza with { SurfaceCelsius = 50.1 });
        await Expect(phone.Card("north-gate-plaza").Locator(".degrees")).ToHaveTextAsync(unit == TemperatureUnit.Celsius ? "50.1 °C" : "122 °F");
    }
}
