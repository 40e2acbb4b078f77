namespace PavementWatch.Server.Access;

/// <summary>What a browser says of itself, in words by which its owner knows it: "Firefox on Android".</summary>
internal static class DeviceName
{
    // In order: each also names those behind it, so that old pages work.
    private static readonly (string Mark, string Name)[] Browsers =
        [("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser", "Samsung Internet"), ("Firefox", "Firefox"), ("FxiOS", "Firefox"), ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari")];

    private static readonly (string Mark, string Name)[] Systems =
        [("Android", "Android"), ("iPhone", "iPhone"), ("iPad", "iPad"), ("Windows", "Windows"), ("Mac OS", "Mac"), ("CrOS", "ChromeOS"), ("Linux", "Linux")];

    /// <param name="http">The request; its <c>User-Agent</c> is not believed in anything else.</param>
    public static string Of(HttpContext http)
    {
        var said = http.Request.Headers.UserAgent.ToString();
        var (browser, system) = (Find(Browsers, said), Find(Systems, said));
        return (browser, system) switch
        {
            (null, null) => "unknown device",
            (null, _) => $"unknown browser on {system}",
            (_, null) => browser,
            _ => $"{browser} on {system}",
        };
    }

    private static string? Find((string Mark, string Name)[] marks, string said) =>
        marks.FirstOrDefault(m => said.Contains(m.Mark, StringComparison.Ordinal)).Name;
}
