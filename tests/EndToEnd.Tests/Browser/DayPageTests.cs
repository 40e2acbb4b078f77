using Microsoft.Playwright;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Tests.Hosting;
using static Microsoft.Playwright.Assertions;

namespace PavementWatch.EndToEnd.Tests.Browser;

/// <summary>A day's curve in a real browser.</summary>
public class DayPageTests(BrowserFixture browser)
{
    [Fact]
    public async Task Curve_shows_limit_too_hot_span_now_and_the_walk()
    {
        await using var host = await DashboardHost.StartAsync();
        host.Board.MakeDay = (spot, day) =>
        {
            var made = Ferngate.Day(spot, day, Ferngate.Now);
            return made with { Walk = new(made.From.AddHours(7), made.From.AddHours(7.7), "Pickle", "kept to the grass, it was cool.") };
        };
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");

        var chart = phone.Page.Locator(".chart svg");
        await Expect(chart).ToContainTextAsync("limit 49 °C (120 °F)");
        await Expect(chart).ToContainTextAsync("now");
        await Expect(chart).ToContainTextAsync("Pickle’s walk");
        await Expect(chart).ToContainTextAsync("50 °C");
        await Expect(chart).ToContainTextAsync("122 °F");
        await phone.PictureAsync("day-phone");
        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        await phone.PictureAsync("day-phone-curve");
    }

    [Fact]
    public async Task Curve_shows_when_the_ground_may_be_icy_in_words_too()
    {
        await using var host = await DashboardHost.StartAsync();
        host.Board.MakeDay = (spot, day) =>
        {
            var made = Ferngate.Day(spot, day, Ferngate.Now);
            return made with
            {
                TooHot = [],
                Points = [.. made.Points.Select(p => new DayPoint(p.At, p.SurfaceCelsius - 32, p.AirCelsius - 32, p.EstimateCelsius - 32, p.LowerCelsius - 32, p.UpperCelsius - 32))],
                Icy = [new(made.From, made.From.AddHours(4)), new(made.From.AddHours(10), Ferngate.Now), new(made.From.AddHours(20), made.To)],
            };
        };
        await using var phone = await Phone.OpenAsync(browser, host.Address, desktop: true);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");

        var chart = phone.Page.Locator(".chart svg");
        await Expect(chart).ToContainTextAsync("may be icy");
        await Expect(chart).ToContainTextAsync("00:00 to 04:00");
        await Expect(chart).ToContainTextAsync("since 10:00");
        await Expect(chart).ToContainTextAsync("from 20:00 on");
        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        await phone.PictureAsync("day-icy");
        var box = await chart.BoundingBoxAsync() ?? throw new InvalidOperationException("no chart");
        var readout = phone.Page.Locator("[data-part=readout]");
        await phone.Page.Mouse.MoveAsync(box.X + box.Width / 2, box.Y + box.Height / 2);
        await Expect(readout).ToContainTextAsync(" · may be icy · air ");
        await phone.Page.Mouse.MoveAsync(box.X + box.Width / 3, box.Y + box.Height / 2);
        await Expect(readout).ToHaveTextAsync(new System.Text.RegularExpressions.Regex("^0[78]:"));
        await Expect(readout).Not.ToContainTextAsync("icy");
    }

    [Fact]
    public async Task Hours_under_the_strip_are_whole_on_a_phone()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".chart svg")).ToBeVisibleAsync();

        // A phone's own font may be a third wider than this one.
        var hours = await phone.Page.EvaluateAsync<string[]>("""
            () => [...document.querySelectorAll('.strip b')].filter(b => getComputedStyle(b).visibility === 'visible')
              .map(b => { const r = document.createRange(); r.selectNodeContents(b); const t = r.getBoundingClientRect(), c = b.getBoundingClientRect();
                return b.textContent + (c.width >= 1.3 * t.width && t.left >= 0 && t.right <= innerWidth ? '' : ` is cut: ${t.width} of ${c.width}`); })
            """);
        Assert.Equal(["00", "03", "06", "09", "12", "15", "18", "21"], hours);
    }

    [Fact]
    public async Task Touched_moment_is_read_out_in_both_units_and_local_time()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, desktop: true, dark: true);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        var box = await phone.Page.Locator(".chart svg").BoundingBoxAsync() ?? throw new InvalidOperationException("no chart");
        await phone.Page.Mouse.MoveAsync(box.X + box.Width / 2, box.Y + box.Height / 2);

        // The middle of the picture is about noon at the spot, whatever the phone's own zone.
        await Expect(phone.Page.Locator("[data-part=readout]")).ToHaveTextAsync(
            new System.Text.RegularExpressions.Regex(@"^1[12]:\d\d · surface \d\d\.\d °C · 1\d\d °F · air 3\d\.\d °C · \d\d °F$"));
        await phone.PictureAsync("day-desktop-dark");
    }

    [Fact]
    public async Task Today_refreshes_itself_and_yesterday_is_one_press_away()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".summary")).ToContainTextAsync("Too hot since");

        host.Board.MakeDay = (spot, day) => Ferngate.Day(spot, day, Ferngate.Now) with { TooHot = [] };
        await phone.Page.EvaluateAsync("() => window.dispatchEvent(new Event('online'))");
        await Expect(phone.Page.Locator(".summary")).ToContainTextAsync("Not too hot so far");
        await Expect(phone.Page.Locator("#live")).ToHaveTextAsync("Live");

        await phone.Page.GetByText("Day before").ClickAsync();
        await Expect(phone.Page.Locator(".which")).ToHaveTextAsync("Monday 13 July 2026");
        await phone.PictureAsync("day-before");
    }

    [Fact]
    public async Task Hours_ahead_say_where_their_air_is_from_and_tomorrow_is_one_press_away()
    {
        await using var host = await DashboardHost.StartAsync();
        host.Board.MakeDay = (spot, day) =>
        {
            var made = Ferngate.Day(spot, day, Ferngate.Now);
            var (from, six) = (made.From > Ferngate.Now ? made.From : Ferngate.Now, made.From.AddHours(day == new DateOnly(2026, 7, 14) ? 6 : -18));
            return made with { Coming = new(from, new(from, made.From.AddHours(20), six, six, WithWind: true, WithSun: true), AllForecast: false) };
        };
        await using var phone = await Phone.OpenAsync(browser, host.Address, desktop: true);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".summary")).ToContainTextAsync(
            "The hours ahead: air from the forecast of 06:00, with its wind and sun from 14:32 to 20:00; for the rest it is taken to repeat its last day.");

        await phone.Page.EvaluateAsync("() => document.querySelector('.strip').scrollIntoView()");
        var box = await phone.Page.Locator(".chart svg").BoundingBoxAsync() ?? throw new InvalidOperationException("no chart");
        // Three quarters of the picture is about 18:00, nearly all of it about 22:00.
        await phone.Page.Mouse.MoveAsync(box.X + box.Width * 0.75f, box.Y + box.Height / 2);
        await Expect(phone.Page.Locator("[data-part=readout]")).ToContainTextAsync("air from a forecast");
        await phone.Page.Mouse.MoveAsync(box.X + box.Width * 0.9f, box.Y + box.Height / 2);
        await Expect(phone.Page.Locator("[data-part=readout]")).ToContainTextAsync("air taken to repeat its last day");
        await phone.PictureAsync("day-ahead", whole: true);

        await phone.Page.GetByText("Day after").ClickAsync();
        await Expect(phone.Page.Locator(".which")).ToHaveTextAsync("Wednesday 15 July 2026, tomorrow");
        await Expect(phone.Page.Locator(".summary")).ToContainTextAsync("air from the forecast of 06:00");
        await Expect(phone.Page.GetByText("Day after")).ToHaveCountAsync(0);
    }

    [Fact]
    public async Task Without_scripts_the_day_is_told_in_sentences_and_a_table()
    {
        await using var host = await DashboardHost.StartAsync();
        await using var phone = await Phone.OpenAsync(browser, host.Address, scripts: false);
        await phone.Page.GotoAsync("/spots/north-gate-plaza");
        await Expect(phone.Page.Locator(".summary li").First).ToContainTextAsync("Too hot since");
        await Expect(phone.Page.GetByRole(AriaRole.Row, new() { Name = "14:00" })).ToContainTextAsync("too hot");
        await Expect(phone.Page.Locator(".chart")).ToBeHiddenAsync();
    }
}
