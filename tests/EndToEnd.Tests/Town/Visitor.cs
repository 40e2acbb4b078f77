using System.Net;
using System.Text.RegularExpressions;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>Somebody who has opened their link, without a browser.</summary>
internal sealed class Visitor() : HttpClient(new HttpClientHandler { CookieContainer = new CookieContainer() })
{
    /// <summary>The page that was read last.</summary>
    public string LastPage { get; private set; } = "";

    /// <summary>Opens a link and presses its button, if it has one.</summary>
    public static async Task<Visitor> SignedInAsync(string link)
    {
        var visitor = new Visitor();
        using var answer = await visitor.GetAsync(new Uri(link), TestContext.Current.CancellationToken);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        visitor.LastPage = await answer.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        if (Regex.Match(visitor.LastPage, "name=\"__RequestVerificationToken\" value=\"([^\"]+)\"") is { Success: true } button)
        {
            using var form = new FormUrlEncodedContent([KeyValuePair.Create("__RequestVerificationToken", button.Groups[1].Value)]);
            using var entered = await visitor.PostAsync(new Uri(link), form, TestContext.Current.CancellationToken);
            Assert.Equal(HttpStatusCode.OK, entered.StatusCode);
            visitor.LastPage = await entered.Content.ReadAsStringAsync(TestContext.Current.CancellationToken);
        }

        return visitor;
    }
}
