using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Notifications;

/// <summary>Which addresses we send pushes to. Browsers tell us the address, so everything unknown is refused.</summary>
internal sealed class PushHosts(IOptions<NotificationOptions> options)
{
    /// <summary>The push services of the common browsers.</summary>
    public static readonly IReadOnlyList<string> Known =
    [
        "fcm.googleapis.com",
        "jmt17.google.com",
        "updates.push.services.mozilla.com",
        "*.push.apple.com",
        "*.notify.windows.com",
    ];

    private readonly string[] _hosts = [.. Known, .. options.Value.AllowedHosts];

    /// <summary>Why the address is refused, or <c>null</c> when it may be used.</summary>
    public string? Refusal(string endpoint)
    {
        if (endpoint.Length > 1024)
            return $"endpoint has {endpoint.Length} characters, expected at most 1024";
        if (!Uri.TryCreate(endpoint, UriKind.Absolute, out var uri) || uri.UserInfo.Length > 0)
            return "endpoint is not an address, expected https://host/…";
        if (options.Value.AllowLoopback && uri.IsLoopback && uri.Scheme is ("http" or "https"))
            return null;
        if (uri.Scheme != Uri.UriSchemeHttps || !uri.IsDefaultPort)
            return $"endpoint is {uri.Scheme}://{uri.Authority}, expected https on its usual port";
        return _hosts.Any(h => Covers(h, uri.Host))
            ? null
            : $"endpoint's host is {uri.Host}, expected a known push service; add it to Notifications:AllowedHosts if it is one";
    }

    private static bool Covers(string allowed, string host) =>
        allowed.StartsWith("*.", StringComparison.Ordinal)
            ? host.Length > allowed.Length - 1 && host.EndsWith(allowed[1..], StringComparison.OrdinalIgnoreCase)
            : host.Equals(allowed, StringComparison.OrdinalIgnoreCase);
}
