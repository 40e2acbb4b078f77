using System.Net;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.People;

/// <summary>People and links as the business lists and changes them on its pages.</summary>
public sealed partial class PeoplePagesTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Somebody_is_added_gets_a_link_another_name_and_role_and_is_removed()
    {
        await using var server = await RunningServer.StartAsync();
        using var business = await server.BrowserOfAsync(Role.Business, "Ferngate Walks");

        var added = await TextAsync(await business.PostAsync("/business/people", "add", new Dictionary<string, string> { ["name"] = "Ines", ["role"] = "Walker" }));
        var link = Link().Match(added).Groups[1].Value;
        using var phone = server.Browser();
        using (var entered = await phone.EnterAsync(new Uri(link).PathAndQuery))
            Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        var ines = (await server.Get<PersonStore>().FindAsync("Ines"))!.Id;
        var page = $"/business/people/{ines}";
        Assert.Contains("unknown device", await business.GetStringAsync(At(page), Cancel), StringComparison.Ordinal);

        var twice = await TextAsync(await business.PostAsync("/business/people", "add", new Dictionary<string, string> { ["name"] = "Ines", ["role"] = "Walker" }));
        Assert.Contains("there is somebody named Ines already", twice, StringComparison.Ordinal);
        var bad = await TextAsync(await business.PostAsync(page, "person", new Dictionary<string, string> { ["name"] = "two\nlines", ["role"] = "Walker" }));
        Assert.Contains("line break", bad, StringComparison.Ordinal);

        using (var saved = await business.PostAsync(page, "person", new Dictionary<string, string>(Sure) { ["name"] = "Inés", ["role"] = "Analyst" }))
            Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        Assert.Equal(Role.Analyst, (await server.Get<PersonStore>().FindAsync("Inés"))!.Role);
        using (var ended = await phone.GetAsync(At("/api/spots"), Cancel))
            Assert.Equal(HttpStatusCode.Unauthorized, ended.StatusCode);

        var another = Link().Match(await TextAsync(await business.PostAsync(page, "new-link", new Dictionary<string, string>()))).Groups[1].Value;
        var number = Regex.Match(await business.GetStringAsync(At(page), Cancel), "value=\"link-(\\d+)\"").Groups[1].Value;
        using (var revoked = await business.PostAsync(page, $"link-{number}", Sure))
            Assert.Equal(HttpStatusCode.Redirect, revoked.StatusCode);
        using (var dead = await phone.GetAsync(At(new Uri(another).PathAndQuery), Cancel))
            Assert.Equal(HttpStatusCode.Unauthorized, dead.StatusCode);

        Assert.Contains("tick the box", await TextAsync(await business.PostAsync(page, "remove", new Dictionary<string, string>())), StringComparison.Ordinal);
        Assert.NotNull(await server.Get<PersonStore>().FindAsync("Inés"));
        using (var removed = await business.PostAsync(page, "remove", Sure))
            Assert.EndsWith("/business/people", removed.Headers.Location?.OriginalString, StringComparison.Ordinal);
        Assert.Null(await server.Get<PersonStore>().FindAsync("Inés"));
        using var gone = await business.GetAsync(At(page), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, gone.StatusCode);
    }

    [Fact]
    public async Task A_passkey_is_removed_only_by_who_says_so()
    {
        await using var server = await RunningServer.StartAsync();
        using var here = await server.BrowserOfAsync(Role.Walker, "Ines");
        var ines = (await server.Get<PersonStore>().FindAsync("Ines"))!.Id;
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        db.Add(new IdentityUserPasskey<int>
        {
            UserId = ines,
            CredentialId = [1, 2, 3],
            Data = new IdentityPasskeyData { Name = "phone", PublicKey = [1], AttestationObject = [1], ClientDataJson = [1], CreatedAt = RunningServer.Noon },
        });
        await db.SaveChangesAsync(Cancel);
        var form = Regex.Match(await here.GetStringAsync(At("/me"), Cancel), "value=\"(passkey-[^\"]+)\"").Groups[1].Value;

        Assert.Contains("tick the box", await TextAsync(await here.PostAsync("/me", form, new Dictionary<string, string>())), StringComparison.Ordinal);
        Assert.Equal(1, await db.Set<IdentityUserPasskey<int>>().CountAsync(Cancel));
        using var removed = await here.PostAsync("/me", form, Sure);
        Assert.Equal(HttpStatusCode.Redirect, removed.StatusCode);
        Assert.Equal(0, await db.Set<IdentityUserPasskey<int>>().CountAsync(Cancel));
    }

    [Fact]
    public async Task Whatever_ends_a_sign_in_or_a_link_asks_first()
    {
        await using var server = await RunningServer.StartAsync();
        using var business = await server.BrowserOfAsync(Role.Business, "Ferngate Walks");
        using var here = await server.BrowserOfAsync(Role.Walker, "Ines");
        server.PeopleTime.Advance(TimeSpan.FromMinutes(1));
        using var phone = await server.BrowserOfAsync(Role.Walker, "Ines");
        var ines = (await server.Get<PersonStore>().FindAsync("Ines"))!.Id;
        await server.Get<PersonStore>().NewSignInTokenAsync(ines, Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        Assert.Null((await server.Get<IPeopleSetup>().NewOwnerLinkAsync(pickle.Id, 30, Cancel)).Fault);
        var full = (await server.Get<IPeopleSetup>().FindAsync(ines, Cancel))!;
        var link = full.Links.Single(l => l.UsedAt is null).Id;
        var owner = (await server.Get<IPeopleSetup>().OwnersAsync(Cancel)).Links.Single().Id;

        // The page, its form, and what is left once it is done.
        (HttpClient Who, string Page, string Form, Dictionary<string, string> Fields, Func<PersonInFull, int> Left)[] asked =
        [
            (here, "/me", $"end-{full.Sessions.MaxBy(s => s.CreatedAt)!.Id:N}", [], p => p.Sessions.Count),
            (here, "/me", "end-all", [], p => p.Sessions.Count),
            (business, $"/business/people/{ines}", $"link-{link}", [], p => p.Links.Count),
            (business, $"/business/people/{ines}", "person", new() { ["name"] = "Ines", ["role"] = "Analyst" }, p => p.Sessions.Count),
        ];
        foreach (var (who, page, form, fields, left) in asked)
        {
            var before = left((await server.Get<IPeopleSetup>().FindAsync(ines, Cancel))!);
            Assert.Contains("tick the box", await TextAsync(await who.PostAsync(page, form, fields)), StringComparison.Ordinal);
            Assert.True(before == left((await server.Get<IPeopleSetup>().FindAsync(ines, Cancel))!), $"{form} has not asked");
        }

        Assert.Contains("tick the box", await TextAsync(await business.PostAsync("/business/people", $"owner-{owner}", new Dictionary<string, string>())), StringComparison.Ordinal);
        Assert.Single((await server.Get<IPeopleSetup>().OwnersAsync(Cancel)).Links);
        using (var revoked = await business.PostAsync("/business/people", $"owner-{owner}", Sure))
            Assert.Equal(HttpStatusCode.Redirect, revoked.StatusCode);
        Assert.Empty((await server.Get<IPeopleSetup>().OwnersAsync(Cancel)).Links);
        using (var ended = await here.PostAsync("/me", asked[0].Form, Sure))
            Assert.Equal(HttpStatusCode.Redirect, ended.StatusCode);
        Assert.Single((await server.Get<IPeopleSetup>().FindAsync(ines, Cancel))!.Sessions);
        Assert.Equal(HttpStatusCode.Unauthorized, (await phone.GetAsync(At("/api/spots"), Cancel)).StatusCode);
    }

    [Fact]
    public async Task When_somebody_came_is_said_by_the_spots_clock()
    {
        await using var server = await RunningServer.StartAsync();
        using var business = await server.BrowserOfAsync(Role.Business, "Ferngate Walks");

        var there = TimeZoneInfo.ConvertTime(server.PeopleTime.GetUtcNow(), TimeZoneInfo.FindSystemTimeZoneById("America/Chicago"));
        var came = string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{there:yyyy-MM-dd HH:mm} Chicago time");
        foreach (var page in new[] { "/me", "/business/people" })
            Assert.Contains(came, await business.GetStringAsync(At(page), Cancel), StringComparison.Ordinal);
        // Noon there is 17:00 UTC.
        var spots = await business.GetStringAsync(At("/business"), Cancel);
        Assert.Contains("As of 2026-07-14 12:00 Chicago time", spots, StringComparison.Ordinal);
        Assert.DoesNotContain(" UTC", spots, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("end-all", false)]
    [InlineData("lost", true)]
    public async Task Signing_out_everywhere_ends_pages_streams_and_alerts_and_a_lost_phone_passkeys_and_links_too(string form, bool endsAll)
    {
        await using var server = await RunningServer.StartAsync();
        using var here = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var phone = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var others = await server.BrowserOfAsync(Role.Walker, "Tobias");
        var ines = (await server.Get<PersonStore>().FindAsync("Ines"))!.Id;
        var waiting = await server.Get<PersonStore>().NewSignInTokenAsync(ines, Cancel);
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            foreach (var (person, marker) in new[] { (ines, "of-ines"), ((await server.Get<PersonStore>().FindAsync("Tobias"))!.Id, "of-tobias") })
            {
                db.Add(new PushSubscriptionRow { PersonId = person, Endpoint = $"https://push.example/{marker}", P256dh = "x", Auth = "x", CreatedAt = RunningServer.Noon });
                db.Add(new IdentityUserPasskey<int>
                {
                    UserId = person,
                    CredentialId = System.Text.Encoding.UTF8.GetBytes(marker),
                    Data = new IdentityPasskeyData { Name = $"phone {marker}", PublicKey = [1], AttestationObject = [1], ClientDataJson = [1], CreatedAt = RunningServer.Noon },
                });
            }

            await db.SaveChangesAsync(Cancel);
        }

        using var live = await phone.GetAsync(At("/api/live"), HttpCompletionOption.ResponseHeadersRead, Cancel);
        Assert.Equal(HttpStatusCode.OK, live.StatusCode);
        Assert.Contains("Passkeys below and links that wait still sign in", await here.GetStringAsync(At("/me"), Cancel), StringComparison.Ordinal);

        if (endsAll)
        {
            Assert.Contains("tick the box", await TextAsync(await here.PostAsync("/me", form, new Dictionary<string, string>())), StringComparison.Ordinal);
            Assert.NotNull(await server.Get<PersonStore>().WhoseAsync(waiting, Cancel));
        }

        using (var ended = await here.PostAsync("/me", form, Sure))
            Assert.Equal(HttpStatusCode.Redirect, ended.StatusCode);

        // The stream ends: nothing more can come of it.
        await live.Content.ReadAsStringAsync(Cancel).WaitAsync(PavementWatch.Tests.Patience.Span, Cancel);
        using (var out_ = await phone.GetAsync(At("/api/spots"), Cancel))
            Assert.Equal(HttpStatusCode.Unauthorized, out_.StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await here.GetAsync(At("/api/spots"), Cancel)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await others.GetAsync(At("/api/spots"), Cancel)).StatusCode);
        Assert.Equal(endsAll, await server.Get<PersonStore>().WhoseAsync(waiting, Cancel) is null);
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            Assert.Equal(["https://push.example/of-tobias"], await db.PushSubscriptions.Select(d => d.Endpoint).ToListAsync(Cancel));
            Assert.Equal(endsAll ? 1 : 2, await db.Set<IdentityUserPasskey<int>>().CountAsync(Cancel));
        }
    }

    private static Dictionary<string, string> Sure => new() { ["sure"] = "yes" };

    private static async Task<string> TextAsync(HttpResponseMessage answer)
    {
        using (answer)
        {
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            return WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(Cancel));
        }
    }

    [GeneratedRegex("id=\"new-link\">([^<]+)<")]
    private static partial Regex Link();
}
