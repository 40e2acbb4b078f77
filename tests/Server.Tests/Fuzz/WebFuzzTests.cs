using System.Net.Http.Headers;
using System.Text;
using System.Text.RegularExpressions;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Fuzzing;

/// <summary>Every form of every page and what else takes a body, filled in at random by everybody who may open it: an answer each time, and no error of ours.</summary>
public sealed partial class WebFuzzTests
{
    private const int MostPages = 60;

    private static readonly string[] Values =
    [
        "north-gate-plaza", "North Gate plaza", "57.4", "102,2", "2026-07-14T11:30", "2026-07-14", "37.4", "-97", "America/Chicago", "asphalt", "sun", "Handy 2", "0.95", "yes", "C", "F", "49",
        "time_utc,air_celsius,surface_celsius\n2026-07-14T17:00:00Z,30,50\n", "spot,time_utc,surface_celsius\nnorth-gate-plaza,2026-07-13T19:05:00Z,57.4\n", "",
    ];

    private static readonly (string Method, string Path, string Body)[] Bodies =
    [
        ("POST", "/api/push/subscriptions", """{"endpoint":"https://fcm.googleapis.com/x","p256dh":"BA","auth":"AA","spots":["north-gate-plaza"]}"""),
        ("DELETE", "/api/push/subscriptions", """{"endpoint":"https://fcm.googleapis.com/x"}"""),
        ("POST", "/api/push/receipts/00000000-0000-0000-0000-000000000001", "{}"),
        ("POST", "/api/position", """{"latitudeDegrees":37.4,"longitudeDegrees":-97,"minutes":30}"""),
        ("POST", "/api/enrol", """{"code":"ABCD-EFGH"}"""),
        ("PUT", "/api/weather", """{"kind":"forecast","issuedAt":"2026-07-14T06:00:00Z","rows":[{"at":"2026-07-14T17:00:00Z","airCelsius":35.2}]}"""),
        ("GET", "/api/spots/north-gate-plaza/day?date=2026-07-14", ""),
        ("GET", "/spots/north-gate-plaza?date=2026-07-14", ""),
        ("GET", "/enter/AAAA", ""),
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_form_and_every_body_is_answered_whatever_is_in_it()
    {
        await using var server = await RunningServer.StartAsync();
        var random = Fuzz.Source("web");
        List<HttpClient> browsers = [];
        List<(HttpClient Browser, Form Form)> forms = [];
        foreach (var role in Enum.GetValues<Role>())
        {
            var browser = await server.BrowserOfAsync(role);
            browsers.Add(browser);
            forms.AddRange((await FormsAsync(browser)).Select(form => (browser, form)));
        }

        Assert.True(forms.Count >= 4, $"only {forms.Count} forms were found: {string.Join(", ", forms.Select(form => form.Form.Page))}");
        for (var i = Fuzz.Inputs(0.01); i > 0; i--)
        {
            using var request = random.Next(3) == 0 ? Body(random) : null;
            var (browser, form) = forms[random.Next(forms.Count)];
            using var sent = request ?? Filled(random, form);
            var told = $"{sent.Method} {sent.RequestUri}: {(sent.Content is null ? "" : await sent.Content.ReadAsStringAsync(Cancel))}";
            using var answer = await (request is null ? browser : browsers[random.Next(browsers.Count)]).SendAsync(sent, HttpCompletionOption.ResponseHeadersRead, Cancel);
            Assert.True((int)answer.StatusCode < 500, $"{(int)answer.StatusCode} for {told}");
        }

        browsers.ForEach(browser => browser.Dispose());
    }

    /// <summary>The forms of all pages that can be reached by links.</summary>
    private static async Task<List<Form>> FormsAsync(HttpClient browser)
    {
        var (seen, open, forms) = (new HashSet<string>(), new Queue<string>(["/", "/business", "/analyst", "/checks/new", "/checks/import"]), new List<Form>());
        while (open.TryDequeue(out var page) && seen.Count < MostPages)
        {
            if (!seen.Add(page))
                continue;
            using var answer = await browser.GetAsync(new Uri(page, UriKind.Relative), Cancel);
            if (answer.Content.Headers.ContentType?.MediaType != "text/html")
                continue;
            var html = await answer.Content.ReadAsStringAsync(Cancel);
            foreach (Match link in Link().Matches(html))
                open.Enqueue(link.Groups[1].Value);
            forms.AddRange(FormTag().Matches(html).Where(form => form.Value.Contains("method=\"post\"", StringComparison.OrdinalIgnoreCase) && !form.Value.Contains("/leave", StringComparison.Ordinal))
                .Select(form => new Form(page, [.. Field().Matches(form.Value).Select(field => (field.Groups[2].Value, Given().Match(field.Value).Groups[1].Value, field.Value.Contains("type=\"file\"", StringComparison.Ordinal)))])));
        }

        return forms;
    }

    private static HttpRequestMessage Filled(Random random, Form form)
    {
        var content = new MultipartFormDataContent();
        foreach (var (name, given, isFile) in form.Fields)
        {
            var isOurs = name is "__RequestVerificationToken" or "_handler";
            var value = isOurs && random.Next(50) > 0 ? given
                : random.Next(3) == 0 ? Fuzz.Mutated(random, Values)
                : random.Next(2) == 0 && given.Length > 0 ? given : Values[random.Next(Values.Length)];
            if (!isOurs && random.Next(20) == 0)
                continue;
            if (isFile)
                content.Add(new ByteArrayContent(Encoding.UTF8.GetBytes(value)), name, "file.csv");
            else
                content.Add(new ByteArrayContent(Encoding.UTF8.GetBytes(value)), name);
        }

        return new HttpRequestMessage(HttpMethod.Post, new Uri(form.Page, UriKind.Relative)) { Content = content };
    }

    private static HttpRequestMessage Body(Random random)
    {
        var (method, path, body) = Bodies[random.Next(Bodies.Length)];
        if (method == "GET")
        {
            var end = path[(path.LastIndexOfAny(['/', '=']) + 1)..];
            return new HttpRequestMessage(HttpMethod.Get, new Uri(path[..^end.Length] + Uri.EscapeDataString(Whole(Fuzz.Mutated(random, [end]))), UriKind.Relative));
        }

        var content = new ByteArrayContent(Encoding.UTF8.GetBytes(Fuzz.Mutated(random, [body])));
        content.Headers.ContentType = new MediaTypeHeaderValue("application/json");
        return new HttpRequestMessage(new HttpMethod(method), new Uri(path, UriKind.Relative)) { Content = content };
    }

    // Half of a surrogate pair has no place in an address; and an address has an end.
    private static string Whole(string text) => string.Concat(text.Where(letter => !char.IsSurrogate(letter)).Take(1000));

    private sealed record Form(string Page, IReadOnlyList<(string Name, string Given, bool IsFile)> Fields);

    [GeneratedRegex("href=\"(/[^\"#?.]*)(?:[?#][^\"]*)?\"")]
    private static partial Regex Link();

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex FormTag();

    [GeneratedRegex("<(input|select|textarea)[^>]*name=\"([^\"]+)\"[^>]*>")]
    private static partial Regex Field();

    [GeneratedRegex("value=\"([^\"]*)\"")]
    private static partial Regex Given();
}
