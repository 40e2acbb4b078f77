using System.Net;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Core.Team;
using PavementWatch.Server.People;

namespace PavementWatch.Benchmarks;

/// <summary>A browser in which somebody has opened their link.</summary>
internal static partial class SignedIn
{
    public static async Task<HttpClient> BrowserAsync(WebApplication app, Role role)
    {
        var people = app.Services.GetRequiredService<PersonStore>();
        var token = await people.NewSignInTokenAsync((await people.AddAsync("Ines", role, CancellationToken.None)).Id, CancellationToken.None);
        var browser = new HttpClient(new HttpClientHandler { CookieContainer = new CookieContainer(), AllowAutoRedirect = false }) { BaseAddress = new Uri(app.Urls.Single()) };
        var link = new Uri($"/enter/{token}", UriKind.Relative);
        var form = Token().Match(await browser.GetStringAsync(link)).Groups[1].Value;
        using var content = new FormUrlEncodedContent([KeyValuePair.Create("__RequestVerificationToken", form)]);
        using var entered = await browser.PostAsync(link, content);
        return entered.StatusCode == HttpStatusCode.Redirect ? browser : throw new InvalidOperationException($"not signed in: {entered.StatusCode}");
    }

    [GeneratedRegex("name=\"__RequestVerificationToken\" value=\"([^\"]+)\"")]
    private static partial Regex Token();
}
