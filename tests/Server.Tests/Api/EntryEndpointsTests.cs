using System.Net;
using System.Net.Http.Json;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Tests.Api;

public sealed class EntryEndpointsTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Nobody_gets_401_from_the_api_and_a_sentence_on_a_page()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = server.Browser();

        var api = await browser.GetAsync(At("/api/spots"), Cancel);
        var page = await browser.GetAsync(At("/"), Cancel);

        Assert.Equal(HttpStatusCode.Unauthorized, api.StatusCode);
        Assert.Equal("application/problem+json", api.Content.Headers.ContentType?.MediaType);
        Assert.Equal(HttpStatusCode.Unauthorized, page.StatusCode);
        Assert.Contains("use your link", await page.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("not-a-token", "unknown")]
    [InlineData("", "missing")]
    public async Task A_wrong_link_lets_nobody_in(string token, string why)
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = server.Browser();

        var answer = await browser.GetAsync(At($"/enter/{token}"), Cancel);

        Assert.True(answer.StatusCode == HttpStatusCode.Unauthorized, why);
        Assert.False(answer.Headers.Contains("Set-Cookie"));
    }

    [Fact]
    public async Task A_browser_that_knows_another_server_of_this_machine_enters_without_a_word_in_the_log()
    {
        var cookies = new CookieContainer();
        foreach (var _ in Enumerable.Range(0, 2))
        {
            await using var server = await RunningServer.StartAsync();
            var ines = await server.Get<PersonStore>().AddAsync("Ines", Role.Walker, Cancel);
            using var browser = server.Browser(cookies: cookies);

            using var entered = await browser.EnterAsync($"/enter/{await server.Get<PersonStore>().NewSignInTokenAsync(ines.Id, Cancel)}");

            Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        }
    }

    [Fact]
    public async Task A_link_works_until_it_expires()
    {
        await using var server = await RunningServer.StartAsync();
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        var token = await people.NewSignInTokenAsync(ines.Id, Cancel);

        server.PeopleTime.Advance(TimeSpan.FromDays(14) - TimeSpan.FromSeconds(1));
        Assert.NotNull(await people.WhoseAsync(token, Cancel));
        server.PeopleTime.Advance(TimeSpan.FromSeconds(1));
        Assert.Null(await people.WhoseAsync(token, Cancel));
        Assert.Null(await people.EnterAsync(token, "a phone", Cancel));
    }

    [Fact]
    public async Task Only_the_hash_of_a_token_is_kept()
    {
        await using var server = await RunningServer.StartAsync();
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        var token = await people.NewSignInTokenAsync(ines.Id, Cancel);

        var files = Directory.GetFiles(server.Folder, "registry.sqlite*");
        Assert.NotEmpty(files);
        foreach (var file in files)
            Assert.DoesNotContain(token, await ReadSharedAsync(file), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Somebody_whose_role_is_taken_away_is_out_at_once()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business, "Marta");
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(browser, "/api/push/key"));

        await server.Get<PersonStore>().AddAsync("Marta", Role.Walker, Cancel);

        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(browser, "/api/push/key"));
    }

    [Fact]
    public async Task A_page_of_another_site_cannot_change_anything()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = await server.BrowserOfAsync(Role.Business);
        Assert.Equal(HttpStatusCode.Forbidden, await ShareFromAsync("https://elsewhere.example"));
        Assert.Equal(HttpStatusCode.Forbidden, await ShareFromAsync("null"));
        Assert.Equal(HttpStatusCode.NoContent, await ShareFromAsync(server.Address.GetLeftPart(UriPartial.Authority)));

        async Task<HttpStatusCode> ShareFromAsync(string origin)
        {
            using var request = new HttpRequestMessage(HttpMethod.Post, "/api/position")
            {
                Content = JsonContent.Create(new { latitude = 37.4, longitude = -97.0 }),
            };
            request.Headers.Add("Origin", origin);
            using var answer = await browser.SendAsync(request, Cancel);
            return answer.StatusCode;
        }
    }

    [Fact]
    public async Task Trying_links_in_a_row_is_stopped()
    {
        await using var server = await RunningServer.StartAsync(
            settings: new Dictionary<string, string?> { ["Access:EntriesPerMinute"] = "3" });
        using var browser = server.Browser();
        for (var i = 0; i < 3; i++)
            Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(browser, $"/enter/guess-{i}"));

        Assert.Equal(HttpStatusCode.TooManyRequests, await StatusAsync(browser, "/enter/guess-3"));
    }

    [Fact]
    public async Task Every_answer_forbids_foreign_scripts_frames_and_referrers()
    {
        await using var server = await RunningServer.StartAsync();
        using var browser = server.Browser();

        var answer = await browser.GetAsync(At("/"), Cancel);

        // No script that stands in a page, but for the one that is named by its hash: it maps names of files.
        var policy = answer.Headers.GetValues("Content-Security-Policy").Single();
        Assert.StartsWith("default-src 'self';", policy, StringComparison.Ordinal);
        Assert.Matches("; script-src 'self' 'sha256-[A-Za-z0-9+/]{43}='$", policy);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("same-origin", answer.Headers.GetValues("Referrer-Policy").Single());
        Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient browser, string path)
    {
        using var answer = await browser.GetAsync(At(path), Cancel);
        return answer.StatusCode;
    }

    private static async Task<string> ReadSharedAsync(string file)
    {
        await using var stream = new FileStream(file, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(stream, System.Text.Encoding.Latin1);
        return await reader.ReadToEndAsync();
    }
}
