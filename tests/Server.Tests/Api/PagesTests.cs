using System.Net;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Api;

/// <summary>The pages as this server serves them, and to whom.</summary>
public sealed class PagesTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("/service-worker.js", "nobody", HttpStatusCode.OK)]
    [InlineData("/manifest.webmanifest", "nobody", HttpStatusCode.OK)]
    [InlineData("/offline", "nobody", HttpStatusCode.OK)]
    [InlineData("/o/not-a-token", "nobody", HttpStatusCode.NotFound)]
    [InlineData("/", "nobody", HttpStatusCode.Unauthorized)]
    [InlineData("/", "Walker", HttpStatusCode.OK)]
    [InlineData("/spots/north-gate-plaza", "Walker", HttpStatusCode.OK)]
    [InlineData("/business", "Walker", HttpStatusCode.Forbidden)]
    [InlineData("/business", "Business", HttpStatusCode.OK)]
    [InlineData("/checks/new", "nobody", HttpStatusCode.Unauthorized)]
    [InlineData("/checks/new", "Walker", HttpStatusCode.OK)]
    [InlineData("/checks/import", "Walker", HttpStatusCode.OK)]
    [InlineData("/checks/export.csv", "Walker", HttpStatusCode.OK)]
    [InlineData("/analyst", "nobody", HttpStatusCode.Unauthorized)]
    [InlineData("/analyst", "Walker", HttpStatusCode.Forbidden)]
    [InlineData("/analyst", "Analyst", HttpStatusCode.OK)]
    [InlineData("/analyst", "Business", HttpStatusCode.OK)]
    [InlineData("/analyst/spots/north-gate-plaza", "Walker", HttpStatusCode.Forbidden)]
    [InlineData("/analyst/spots/north-gate-plaza", "Analyst", HttpStatusCode.OK)]
    [InlineData("/analyst/spots/nowhere", "Analyst", HttpStatusCode.NotFound)]
    [InlineData("/analyst/backtest", "Walker", HttpStatusCode.Forbidden)]
    [InlineData("/analyst/backtest", "Analyst", HttpStatusCode.OK)]
    [InlineData("/analyst/backtest/a3b8d1b6-0b3b-4b1a-9c1a-1a2b3c4d5e6f", "Analyst", HttpStatusCode.NotFound)]
    [InlineData("/api/backtests/a3b8d1b6-0b3b-4b1a-9c1a-1a2b3c4d5e6f", "Walker", HttpStatusCode.Forbidden)]
    [InlineData("/api/backtests/a3b8d1b6-0b3b-4b1a-9c1a-1a2b3c4d5e6f/report.json", "Walker", HttpStatusCode.Forbidden)]
    public async Task A_page_is_served_to_whom_it_is_for(string path, string visitor, HttpStatusCode status)
    {
        await using var server = await StartAsync();
        using var browser = Enum.TryParse<Role>(visitor, out var role) ? await server.BrowserOfAsync(role) : server.Browser();

        using var answer = await browser.GetAsync(new Uri(path, UriKind.Relative), Cancel);

        Assert.Equal(status, answer.StatusCode);
        Assert.NotEmpty(await answer.Content.ReadAsStringAsync(Cancel));
    }

    [Theory]
    [InlineData("/nowhere", "text/html", "text/html", "There is no such page")]
    [InlineData("/analyst/nothing/here", "text/html,application/xhtml+xml", "text/html", "To the spots")]
    [InlineData("/api/nowhere", "text/html", "application/problem+json", "\"status\":404")]
    [InlineData("/api/nowhere", "application/json", "application/problem+json", "Not Found")]
    public async Task An_unknown_address_is_answered_with_words_and_a_way_back(string path, string accept, string type, string says)
    {
        await using var server = await StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker);
        browser.DefaultRequestHeaders.Add("Accept", accept);

        using var answer = await browser.GetAsync(new Uri(path, UriKind.Relative), Cancel);

        Assert.Equal((HttpStatusCode.NotFound, type), (answer.StatusCode, answer.Content.Headers.ContentType!.MediaType));
        Assert.Contains(says, await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_owner_reads_the_walk_by_the_link_until_it_is_revoked_or_over()
    {
        await using var server = await StartAsync();
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        db.Walks.Add(new WalkRow
        {
            DogId = pickle.Id,
            WalkerId = ines.Id,
            Start = Noon.AddHours(-2),
            Minutes = 30,
            Note = "Kept to the grass.",
            Spots = [new WalkSpotRow { SpotId = NorthGate.Id.Value }],
        });
        await db.SaveChangesAsync(Cancel);
        await server.MeasureAsync([.. Enumerable.Range(0, 60).Select(i => Good(NorthGate, Noon.AddMinutes(-i), 45))]);
        var token = await people.NewOwnerTokenAsync(pickle.Id, TimeSpan.FromDays(7), Cancel);
        using var browser = server.Browser();
        var link = new Uri($"/o/{token}", UriKind.Relative);

        var page = await browser.GetStringAsync(link, Cancel);
        Assert.Contains("Pickle", page, StringComparison.Ordinal);
        Assert.Contains("North Gate plaza", page, StringComparison.Ordinal);
        Assert.Contains("Kept to the grass.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Quarry", page, StringComparison.Ordinal);

        server.PeopleTime.Advance(TimeSpan.FromDays(7));
        using var over = await browser.GetAsync(link, Cancel);
        Assert.Equal(HttpStatusCode.NotFound, over.StatusCode);

        var second = await people.NewOwnerTokenAsync(pickle.Id, TimeSpan.FromDays(7), Cancel);
        await db.OwnerLinks.ExecuteUpdateAsync(l => l.SetProperty(x => x.RevokedAt, Noon), Cancel);
        using var revoked = await browser.GetAsync(new Uri($"/o/{second}", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, revoked.StatusCode);
    }
}
