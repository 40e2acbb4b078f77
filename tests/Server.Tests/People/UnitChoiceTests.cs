using System.Net;
using System.Net.ServerSentEvents;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.Notifications;
using PavementWatch.Server.Tests.Watch;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.People;

/// <summary>Each reads temperatures in the unit they chose, and nobody in that of another.</summary>
public sealed partial class UnitChoiceTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Nobody_reads_a_page_a_day_or_a_live_spot_in_the_unit_of_another()
    {
        await using var server = await StartAsync();
        using var ines = await BrowserAsync(server, "Ines", TemperatureUnit.Fahrenheit);
        using var tobias = await BrowserAsync(server, "Tobias", TemperatureUnit.Celsius);
        using var marta = await server.BrowserOfAsync(Role.Walker, "Marta");
        await WatchTests.TooHotAsync(server);
        (HttpClient Browser, string In)[] readers = [(ines, "F"), (tobias, "C"), (marta, "CF"), (ines, "F")];

        // One after another, so that whatever is kept between them is kept from somebody else.
        foreach (var path in (string[])["/", "/spots/north-gate-plaza", "/spots/north-gate-plaza?day=2026-07-14", "/api/spots"])
        {
            foreach (var (browser, units) in readers)
                Assert.True(units == Units(await browser.GetStringAsync(At(path), Cancel)), $"{path} for a reader of {units}");
        }

        await using var hers = await LiveAsync(ines);
        await using var his = await LiveAsync(tobias);
        Assert.Equal(("F", "C"), (Units((await hers.NextAsync()).Data), Units((await his.NextAsync()).Data)));
        await server.MeasureAsync(Good(NorthGate, server.Time.GetUtcNow().AddSeconds(1), 51.5));
        Assert.Equal(("F", "C"), (await SpotAsync(hers), await SpotAsync(his)));

        // Where nothing changes for long all spots are said anew.
        static async Task<string> SpotAsync(LiveReader live)
        {
            var item = await live.NextAsync();
            while (item.EventType != "spot")
                item = await live.NextAsync();
            return Units(item.Data);
        }
    }

    [Fact]
    public async Task A_choice_is_made_with_three_buttons_and_shown_and_open_pages_follow()
    {
        await using var server = await StartAsync();
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        await server.MeasureAsync(Good(NorthGate, Noon, 45));
        await server.SeenAsync(NorthGate, s => s.SurfaceCelsius == 45);
        await using var live = await LiveAsync(ines);
        Assert.Equal(("snapshot", "CF"), Of(await live.NextAsync()));
        Assert.Equal("both", await ChosenAsync(ines));

        using (var kept = await ines.PostAsync("/me", "unit", new Dictionary<string, string> { ["unit"] = "fahrenheit" }))
            Assert.Equal(HttpStatusCode.Redirect, kept.StatusCode);

        Assert.Equal("fahrenheit", await ChosenAsync(ines));
        Assert.Contains("Temperatures are in °F for you from now on", Plain(await ines.GetStringAsync(At("/me?unit=kept"), Cancel)), StringComparison.Ordinal);
        // The stream that was open goes on in the new unit, and says all spots anew: none stays behind in the old one.
        await server.MeasureAsync(Good(NorthGate, Noon.AddSeconds(1), 46));
        (string Event, string Units) next;
        do
            next = Of(await live.NextAsync());
        while (next == ("spot", "CF"));
        Assert.Equal(("snapshot", "F"), next);

        var bad = await ines.PostAsync("/me", "unit", new Dictionary<string, string> { ["unit"] = "kelvin" });
        Assert.Contains("choose one of the three", await bad.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Equal("fahrenheit", await ChosenAsync(ines));
    }

    [Fact]
    public async Task Each_phone_is_told_in_the_unit_of_whose_it_is()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        using var tobias = await WhoIsToldTests.PhoneAsync(server, service, "Tobias", NorthGate.Id.Value);
        using var marta = await WhoIsToldTests.PhoneAsync(server, service, "Marta", NorthGate.Id.Value);
        await ChooseAsync(server, "Ines", TemperatureUnit.Fahrenheit);
        await ChooseAsync(server, "Tobias", TemperatureUnit.Celsius);

        await WatchTests.TooHotAsync(server);

        var told = new Dictionary<string, string>();
        while (told.Count < 3)
        {
            var arrival = await service.NextAsync();
            if (PushMessageBody.Of(arrival.Text) is { State: "tooHot" } body)
                told[arrival.Device] = body.Body;
        }

        Assert.Equal("The ground is at 124 °F, the limit is 120 °F.", told["Ines"]);
        Assert.Equal("The ground is at 51 °C, the limit is 49 °C.", told["Tobias"]);
        Assert.Equal("The ground is at 51 °C (124 °F), the limit is 49 °C (120 °F).", told["Marta"]);
    }

    [Fact]
    public async Task What_stands_is_told_in_the_unit_of_who_comes_to_it()
    {
        await using var service = await ReceiverHost.StartAsync();
        await using var server = await StartAsync(settings: service.AsAllowed);
        await WatchTests.TooHotAsync(server);
        using var ines = await WhoIsToldTests.PhoneAsync(server, service, "Ines", NorthGate.Id.Value);
        await ChooseAsync(server, "Ines", TemperatureUnit.Fahrenheit);

        await server.MinuteAsync(NorthGate);

        Assert.Equal("Since 12:02. The ground is at 126 °F, the limit is 120 °F.", PushMessageBody.Of((await service.NextAsync()).Text).Body);
    }

    [Fact]
    public async Task An_owner_reads_both_also_in_the_browser_of_a_walker_who_chose()
    {
        await using var server = await StartAsync();
        using var walkers = await BrowserAsync(server, "Ines", TemperatureUnit.Fahrenheit);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = pickle.Id,
            WalkerId = await db.People.Select(p => p.Id).SingleAsync(Cancel),
            Start = Noon.AddHours(-2),
            Minutes = 30,
            Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
        });
        await db.SaveChangesAsync(Cancel);
        await server.MeasureAsync([.. Enumerable.Range(0, 60).Select(i => Good(NorthGate, Noon.AddMinutes(-i), 45))]);
        var link = At($"/o/{await server.Get<PersonStore>().NewOwnerTokenAsync(pickle.Id, TimeSpan.FromDays(7), Cancel)}");
        using var owners = server.Browser();

        Assert.Equal(("CF", "CF"), (Units(await owners.GetStringAsync(link, Cancel)), Units(await walkers.GetStringAsync(link, Cancel))));
        Assert.Equal("F", Units(await walkers.GetStringAsync(At("/spots/north-gate-plaza"), Cancel)));
    }

    [Fact]
    public async Task The_business_reads_its_limits_and_types_them_in_its_own_unit()
    {
        await using var server = await StartAsync();
        using var business = await server.BrowserOfAsync(Role.Business, "Marta");
        await ChooseAsync(server, "Marta", TemperatureUnit.Fahrenheit);

        var page = Plain(await business.GetStringAsync(At("/business/spots/north-gate-plaza"), Cancel));
        Assert.Contains("Too hot from <strong>120 °F</strong>", page, StringComparison.Ordinal);
        Assert.Matches("name=\"limit\"[^>]* value=\"120.2\"", page);
        Assert.Matches("value=\"fahrenheit\" checked", page);
        var bad = await business.PostAsync("/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = "126", ["unit"] = "fahrenheit" });
        Assert.Contains("limit is 126 °F, expected 86 to 125 °F", Plain(await bad.Content.ReadAsStringAsync(Cancel)), StringComparison.Ordinal);
        Assert.Equal("F", Units(await business.GetStringAsync(At("/business"), Cancel)));
    }

    /// <summary>The units in which numbers stand on a page: <c>C</c>, <c>F</c> or <c>CF</c>.</summary>
    private static string Units(string page) =>
        string.Concat(InUnit().Matches(Plain(page)).Select(m => m.Groups[1].Value).Distinct().Order());

    // Pages escape the degree sign, data blocks and JSON in another way.
    private static string Plain(string page) => WebUtility.HtmlDecode(page).Replace("\\u00B0", "°", StringComparison.OrdinalIgnoreCase).Replace('\u00a0', ' ');

    private static (string Event, string Units) Of(SseItem<string> item) => (item.EventType, Units(item.Data));

    private static Uri At(string path) => new(path, UriKind.Relative);

    private static async Task<string> ChosenAsync(HttpClient browser) =>
        Checked().Match(await browser.GetStringAsync(At("/me"), Cancel)).Groups[1].Value;

    private static async Task<HttpClient> BrowserAsync(RunningServer server, string name, TemperatureUnit unit)
    {
        var browser = await server.BrowserOfAsync(Role.Walker, name);
        await ChooseAsync(server, name, unit);
        return browser;
    }

    private static async Task ChooseAsync(RunningServer server, string name, TemperatureUnit unit)
    {
        var people = server.Get<PersonStore>();
        await people.SetUnitAsync((await people.FindAsync(name))!.Id, unit, Cancel);
    }

    private static async Task<LiveReader> LiveAsync(HttpClient browser)
    {
        var answer = await browser.GetAsync(At("/api/live"), HttpCompletionOption.ResponseHeadersRead, Cancel);
        return new LiveReader(answer, await answer.Content.ReadAsStreamAsync(Cancel));
    }

    [GeneratedRegex("[0-9] °([CF])")]
    private static partial Regex InUnit();

    [GeneratedRegex("name=\"unit\" value=\"([a-z]+)\" checked")]
    private static partial Regex Checked();

    private sealed class LiveReader(HttpResponseMessage answer, Stream stream) : IAsyncDisposable
    {
        private readonly IAsyncEnumerator<SseItem<string>> _events = SseParser.Create(stream).EnumerateAsync(Cancel).GetAsyncEnumerator(Cancel);

        public async Task<SseItem<string>> NextAsync()
        {
            Assert.True(await _events.MoveNextAsync(), "the stream has ended");
            return _events.Current;
        }

        public async ValueTask DisposeAsync()
        {
            await _events.DisposeAsync();
            answer.Dispose();
        }
    }
}
