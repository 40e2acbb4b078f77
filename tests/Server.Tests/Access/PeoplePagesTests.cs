using System.Net;
using System.Text.RegularExpressions;
using PavementWatch.Server.Access;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Access;

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
        var ines = (await server.Get<People>().FindAsync("Ines"))!.Id;
        var page = $"/business/people/{ines}";
        Assert.Contains("unknown device", await business.GetStringAsync(At(page), Cancel), StringComparison.Ordinal);

        var twice = await TextAsync(await business.PostAsync("/business/people", "add", new Dictionary<string, string> { ["name"] = "Ines", ["role"] = "Walker" }));
        Assert.Contains("there is somebody named Ines already", twice, StringComparison.Ordinal);
        var bad = await TextAsync(await business.PostAsync(page, "person", new Dictionary<string, string> { ["name"] = "two\nlines", ["role"] = "Walker" }));
        Assert.Contains("line break", bad, StringComparison.Ordinal);

        using (var saved = await business.PostAsync(page, "person", new Dictionary<string, string> { ["name"] = "Inés", ["role"] = "Analyst" }))
            Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        Assert.Equal(Role.Analyst, (await server.Get<People>().FindAsync("Inés"))!.Role);
        using (var ended = await phone.GetAsync(At("/api/spots"), Cancel))
            Assert.Equal(HttpStatusCode.Unauthorized, ended.StatusCode);

        var another = Link().Match(await TextAsync(await business.PostAsync(page, "new-link", new Dictionary<string, string>()))).Groups[1].Value;
        var number = Regex.Match(await business.GetStringAsync(At(page), Cancel), "value=\"link-(\\d+)\"").Groups[1].Value;
        using (var revoked = await business.PostAsync(page, $"link-{number}", new Dictionary<string, string>()))
            Assert.Equal(HttpStatusCode.Redirect, revoked.StatusCode);
        using (var dead = await phone.GetAsync(At(new Uri(another).PathAndQuery), Cancel))
            Assert.Equal(HttpStatusCode.Unauthorized, dead.StatusCode);

        using (var removed = await business.PostAsync(page, "remove", new Dictionary<string, string>()))
            Assert.EndsWith("/business/people", removed.Headers.Location?.OriginalString, StringComparison.Ordinal);
        Assert.Null(await server.Get<People>().FindAsync("Inés"));
        using var gone = await business.GetAsync(At(page), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, gone.StatusCode);
    }

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
