using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.People;
using PavementWatch.Server.Privacy;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.People;

/// <summary>Links that sign in once, sessions that can be seen and ended, and what ends with a person, a role or a link.</summary>
public sealed class SignInTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Opening_a_link_shows_a_button_and_only_its_press_signs_in_once()
    {
        await using var server = await RunningServer.StartAsync();
        var path = await LinkAsync(server, "Ines", Role.Walker);
        using var preview = server.Browser();
        using var phone = server.Browser();
        using var thief = server.Browser();
        for (var i = 0; i < 3; i++)
        {
            using var opened = await preview.GetAsync(At(path), Cancel);
            Assert.Equal(HttpStatusCode.OK, opened.StatusCode);
            Assert.Contains("Sign in as Ines", await opened.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
            Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(preview, "/api/spots"));
        }

        // Without the page's own token nothing is pressed.
        using var forged = await thief.PostAsync(At(path), new FormUrlEncodedContent([]), Cancel);
        Assert.Equal(HttpStatusCode.BadRequest, forged.StatusCode);
        using var entered = await phone.EnterAsync(path);
        Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(phone, "/api/spots"));

        using var again = await thief.GetAsync(At(path), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, again.StatusCode);
    }

    [Fact]
    public async Task A_phone_has_five_minutes_of_its_owner_to_make_a_passkey_however_fast_the_spots_clock_runs()
    {
        await using var server = await RunningServer.StartAsync();
        using var phone = server.Browser();
        using var entered = await phone.EnterAsync(await LinkAsync(server, "Ines", Role.Walker));
        var origin = server.Address.GetLeftPart(UriPartial.Authority);
        phone.DefaultRequestHeaders.Add("Origin", origin);
        using var key = new SoftwareAuthenticator(origin);
        async Task<HttpStatusCode> KeepAsync(TimeSpan ofSpots, TimeSpan ofPeople)
        {
            using var offered = await phone.PostAsync(At("/api/passkeys/offer"), null, Cancel);
            var passkey = key.Create(await offered.Content.ReadAsStringAsync(Cancel));
            server.Time.Advance(ofSpots);
            server.PeopleTime.Advance(ofPeople);
            using var kept = await phone.PostAsJsonAsync("/api/passkeys", JsonSerializer.Deserialize<JsonElement>(passkey), Cancel);
            return kept.StatusCode;
        }

        Assert.Equal(HttpStatusCode.NoContent, await KeepAsync(TimeSpan.FromHours(10), TimeSpan.FromMinutes(4)));
        Assert.Equal(HttpStatusCode.BadRequest, await KeepAsync(TimeSpan.Zero, TimeSpan.FromMinutes(6)));
    }

    [Fact]
    public async Task A_used_link_opened_by_who_is_signed_in_says_so_and_leads_on()
    {
        await using var server = await RunningServer.StartAsync();
        var path = await LinkAsync(server, "Ines", Role.Walker);
        using var phone = server.Browser();
        using var entered = await phone.EnterAsync(path);
        Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);

        using var opened = await phone.GetAsync(At(path), Cancel);
        var page = await opened.Content.ReadAsStringAsync(Cancel);

        Assert.Equal(HttpStatusCode.OK, opened.StatusCode);
        Assert.Contains("You are signed in as Ines", page, StringComparison.Ordinal);
        Assert.Contains("This link was used at", page, StringComparison.Ordinal);
        Assert.Contains("href=\"/\"", page, StringComparison.Ordinal);
        // A link that never was is still one that does not work.
        using var invented = await phone.GetAsync(At("/enter/nobody-made-this"), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, invented.StatusCode);
    }

    [Fact]
    public async Task Of_two_who_press_at_once_one_comes_in()
    {
        await using var server = await RunningServer.StartAsync();
        var people = server.Get<PersonStore>();
        for (var round = 0; round < 10; round++)
        {
            var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
            var token = await people.NewSignInTokenAsync(ines.Id, Cancel);

            var came = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => people.EnterAsync(token, "a phone", Cancel))));

            Assert.Single(came, principal => principal is not null);
        }
    }

    [Theory]
    [InlineData("the person is removed")]
    [InlineData("the role is changed")]
    [InlineData("the link is revoked")]
    [InlineData("the session is ended")]
    [InlineData("the person is removed by a command in another process")]
    [InlineData("the person is erased by a command in another process")]
    public async Task Cookie_and_live_stream_end_at_once_when(string what)
    {
        await using var server = await RunningServer.StartAsync();
        var people = server.Get<PersonStore>();
        using var others = await server.BrowserOfAsync(Role.Walker, "Tobias");
        using var browser = await server.BrowserOfAsync(Role.Walker, "Ines");
        var ines = (await people.FindAsync("Ines"))!;
        using var answer = await browser.GetAsync(At("/api/live"), HttpCompletionOption.ResponseHeadersRead, Cancel);
        using var otherAnswer = await others.GetAsync(At("/api/live"), HttpCompletionOption.ResponseHeadersRead, Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);

        // What may have been left behind by whoever came in.
        db.Add(new IdentityUserPasskey<int>
        {
            UserId = ines.Id,
            CredentialId = [1, 2, 3],
            Data = new IdentityPasskeyData { Name = "phone", PublicKey = [1], AttestationObject = [1], ClientDataJson = [1], CreatedAt = server.PeopleTime.GetUtcNow() },
        });
        await db.SaveChangesAsync(Cancel);

        switch (what)
        {
            case "the person is removed":
                Assert.Null(await people.RemoveAsync(ines.Id, Cancel));
                break;
            case "the role is changed":
                Assert.Null(await people.SetRoleAsync(ines.Id, Role.Analyst, Cancel));
                break;
            case "the link is revoked":
                Assert.True(await people.RevokeLinkAsync(await db.SignInLinks.Where(l => l.PersonId == ines.Id).Select(l => l.Id).SingleAsync(Cancel), Cancel));
                Assert.Empty(await db.Set<IdentityUserPasskey<int>>().AsNoTracking().ToListAsync(Cancel));
                break;
            case "the session is ended":
                Assert.True(await people.EndSessionAsync(ines.Id, await db.Sessions.Where(s => s.PersonId == ines.Id).Select(s => s.Id).SingleAsync(Cancel), Cancel));
                break;
            default:
                string[] verb = what.Contains("erased", StringComparison.Ordinal) ? ["erase", "Ines", "--yes"] : ["remove", "Ines"];
                using (var said = new StringWriter())
                    Assert.True(await CommandLine.RunAsync(["person", .. verb, $"--Data:Folder={server.Folder}"], said, said) == 0, said.ToString());
                break;
        }

        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(browser, "/api/spots"));
        // The stream ends by itself: reading it to its end returns.
        await answer.Content.ReadAsStringAsync(Cancel);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(others, "/api/spots"));
        await using var stream = await otherAnswer.Content.ReadAsStreamAsync(Cancel);
        Assert.NotEqual(0, await stream.ReadAsync(new byte[64], Cancel));
    }

    [Fact]
    public async Task Signing_out_ends_the_session_and_not_only_the_cookie()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Walker, "Ines");
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        Assert.Equal(1, await db.Sessions.CountAsync(Cancel));

        using var left = await browser.PostAsync(At("/leave"), null, Cancel);

        Assert.Equal(0, await db.Sessions.CountAsync(Cancel));
    }

    [Fact]
    public async Task Sessions_are_listed_and_ended_on_a_page_one_by_one()
    {
        await using var server = await RunningServer.StartAsync();
        using var phone = server.Browser("Mozilla/5.0 (Android 14; Mobile) Gecko/140.0 Firefox/140.0");
        using var desk = server.Browser("Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0 Safari/537.36");
        foreach (var browser in new[] { phone, desk })
        {
            using var entered = await browser.EnterAsync(await LinkAsync(server, "Ines", Role.Walker));
        }

        var page = await desk.GetStringAsync(At("/me"), Cancel);
        Assert.Contains("Firefox on Android", page, StringComparison.Ordinal);
        Assert.Contains("Chrome on Windows, this one", page, StringComparison.Ordinal);

        var other = Regex.Match(page, "Firefox on Android.*?value=\"(end-[0-9a-f]{32})\"", RegexOptions.Singleline).Groups[1].Value;
        using var ended = await desk.PostAsync("/me", other, new Dictionary<string, string> { ["sure"] = "yes" });

        Assert.Equal(HttpStatusCode.Redirect, ended.StatusCode);
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(phone, "/api/spots"));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(desk, "/api/spots"));
    }

    [Fact]
    public async Task A_restart_under_a_wrong_clock_ends_no_session()
    {
        var folder = Directory.CreateTempSubdirectory("pw-clock-").FullName;
        try
        {
            var now = TimeProvider.System.GetUtcNow();
            var browser = await EnteredAsync(now);
            var gateway = GatewayId.Parse("north-gate");

            // The clock is 400 days ahead, and nobody has said so yet.
            await using (var wrong = await RunningServer.StartAsync(folder, peopleNow: now.AddDays(400)))
            {
                Assert.Equal(HttpStatusCode.OK, await ComesAsync(wrong, browser));
                // Then a gateway says so, at each of its statuses.
                wrong.Get<GatewayClocks>().Hear(gateway, wrong.Time.GetUtcNow().AddDays(-400));
                wrong.Get<GatewayClocks>().Hear(gateway, wrong.Time.GetUtcNow().AddDays(-400));
                wrong.PeopleTime.Advance(TimeSpan.FromHours(3));
                Assert.Equal(HttpStatusCode.OK, await ComesAsync(wrong, browser));
                // No gateway is in doubt any more, so this clock is believed. What is late is not thrown away even then.
                wrong.Get<GatewayClocks>().Forget(gateway);
                Assert.Equal(HttpStatusCode.Unauthorized, await ComesAsync(wrong, browser));
            }

            await using (var right = await RunningServer.StartAsync(folder, peopleNow: now.AddHours(4)))
            {
                right.PeopleTime.Advance(Sessions.Settling);
                Assert.Equal(HttpStatusCode.OK, await ComesAsync(right, browser));
            }

            await using (var later = await RunningServer.StartAsync(folder, peopleNow: now.AddDays(40)))
            {
                later.PeopleTime.Advance(Sessions.Settling);
                Assert.Equal(HttpStatusCode.Unauthorized, await ComesAsync(later, browser));
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        async Task<CookieContainer> EnteredAsync(DateTimeOffset now)
        {
            await using var server = await RunningServer.StartAsync(folder, peopleNow: now);
            var cookies = new CookieContainer();
            using var browser = server.Browser(cookies: cookies);
            using var entered = await browser.EnterAsync(await LinkAsync(server, "Ines", Role.Walker));
            return cookies;
        }

        static async Task<HttpStatusCode> ComesAsync(RunningServer server, CookieContainer cookies)
        {
            using var browser = server.Browser(cookies: cookies);
            return await StatusAsync(browser, "/api/spots");
        }
    }

    [Fact]
    public async Task First_start_has_one_link_that_sets_the_business_up_once()
    {
        await using var server = await RunningServer.StartAsync();
        var path = $"/set-up/{await server.Get<SetUpLink>().TokenAsync(Cancel)}";
        using var browser = server.Browser();
        using var stranger = server.Browser();
        using var guessed = await stranger.GetAsync(At("/set-up/guessed"), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, guessed.StatusCode);
        using var nameless = await browser.EnterAsync(path, ("name", "two\nlines"));
        Assert.Equal(HttpStatusCode.BadRequest, nameless.StatusCode);

        using var entered = await browser.EnterAsync(path, ("name", "Ferngate Walks"));

        Assert.Equal("/business", entered.Headers.Location?.OriginalString);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(browser, "/business"));
        using var again = await stranger.GetAsync(At(path), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, again.StatusCode);
        Assert.Null(await server.Get<SetUpLink>().TokenAsync(Cancel));
    }

    [Fact]
    public async Task The_last_of_the_business_stays()
    {
        await using var server = await RunningServer.StartAsync();
        var people = server.Get<PersonStore>();
        var marta = await people.AddAsync("Marta", Role.Business, Cancel);

        Assert.Contains("last person of the business", await people.RemoveAsync(marta.Id, Cancel), StringComparison.Ordinal);
        Assert.Contains("last person of the business", await people.SetRoleAsync(marta.Id, Role.Walker, Cancel), StringComparison.Ordinal);
        Assert.Contains("last person of the business", (await server.Get<PersonalData>().EraseAsync(marta.Id, Cancel)).Fault, StringComparison.Ordinal);

        await people.AddAsync("Ferngate Walks", Role.Business, Cancel);
        Assert.Null(await people.RemoveAsync(marta.Id, Cancel));
    }

    private static async Task<string> LinkAsync(RunningServer server, string name, Role role)
    {
        var person = await server.Get<PersonStore>().AddAsync(name, role, Cancel);
        return $"/enter/{await server.Get<PersonStore>().NewSignInTokenAsync(person.Id, Cancel)}";
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient browser, string path)
    {
        using var answer = await browser.GetAsync(At(path), Cancel);
        return answer.StatusCode;
    }
}
