using System.Text.RegularExpressions;

namespace PavementWatch.Server.Tests.Api;

/// <summary>Fills in a page's form as a browser without scripts does.</summary>
internal static partial class Forms
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>Opens the page, fills in the form of that name and sends it.</summary>
    public static async Task<HttpResponseMessage> PostAsync(
        this HttpClient browser, string path, string form, IReadOnlyDictionary<string, string> fields, string? file = null)
    {
        var page = await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel);
        var token = Token().Match(page).Groups[1].Value;
        Assert.NotEmpty(token);
        Assert.Contains($"value=\"{form}\"", page, StringComparison.Ordinal);
        using var content = new MultipartFormDataContent
        {
            { new StringContent(token), "__RequestVerificationToken" },
            { new StringContent(form), "_handler" },
        };
        foreach (var (name, value) in fields)
            content.Add(new StringContent(value), name);
        if (file is not null)
            content.Add(new StringContent(file), "file", "file.csv");
        return await browser.PostAsync(new Uri(path, UriKind.Relative), content, Cancel);
    }

    /// <summary>Opens a link and presses its button.</summary>
    public static async Task<HttpResponseMessage> EnterAsync(this HttpClient browser, string path, params (string Name, string Value)[] fields)
    {
        var page = await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel);
        var token = Token().Match(page).Groups[1].Value;
        Assert.NotEmpty(token);
        using var form = new FormUrlEncodedContent(
            [KeyValuePair.Create("__RequestVerificationToken", token), .. fields.Select(f => KeyValuePair.Create(f.Name, f.Value))]);
        return await browser.PostAsync(new Uri(path, UriKind.Relative), form, Cancel);
    }

    [GeneratedRegex("name=\"__RequestVerificationToken\" value=\"([^\"]+)\"")]
    private static partial Regex Token();
}
