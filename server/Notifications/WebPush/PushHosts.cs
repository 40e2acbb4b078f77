using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Notifications.WebPush;

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

    // RFC 6890, tables 1 to 18, RFC 4193, RFC 4291 and RFC 5771: what is not a public unicast address.
    private static readonly IPNetwork[] Inside =
    [
        .. new[]
        {
            "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24",
            "192.168.0.0/16", "198.18.0.0/15", "224.0.0.0/4", "240.0.0.0/4", "::/128", "::1/128", "fc00::/7", "fe80::/10", "ff00::/8",
        }.Select(IPNetwork.Parse),
    ];

    private readonly string[] _hosts = [.. Known, .. options.Value.AllowedHosts];

    /// <summary>Why the address is refused, or <c>null</c> when it may be used.</summary>
    public string? Refusal(string endpoint)
    {
        if (endpoint.Length > 1024)
            return $"endpoint has {endpoint.Length} characters, expected at most 1024";
        if (!Uri.TryCreate(endpoint, UriKind.Absolute, out var uri) || uri.UserInfo.Length > 0)
            return "endpoint is not an address, expected https://host/…";
        if (IsOurOwn(uri))
            return null;
        if (uri.Scheme != Uri.UriSchemeHttps || !uri.IsDefaultPort)
            return $"endpoint is {uri.Scheme}://{uri.Authority}, expected https on its usual port";
        return _hosts.Any(h => Covers(h, uri.Host))
            ? null
            : $"endpoint's host is {uri.Host}, expected a known push service; add it to Notifications:AllowedHosts if it is one";
    }

    /// <summary>Connects to a push service, and never to this machine or a private network unless the settings name that very host.</summary>
    /// <remarks>A name that is allowed may lead anywhere, also inside.</remarks>
    /// <exception cref="HttpRequestException">All addresses of the name are inside.</exception>
    public async ValueTask<Stream> ConnectAsync(SocketsHttpConnectionContext context, CancellationToken cancellationToken)
    {
        var host = context.DnsEndPoint.Host;
        var wanted = context.InitialRequestMessage.RequestUri!;
        var addresses = await Dns.GetHostAddressesAsync(host, cancellationToken);
        // A proxy of this machine's may well stand inside.
        var isProxy = !host.Equals(wanted.IdnHost, StringComparison.OrdinalIgnoreCase);
        if (!isProxy && !IsOurOwn(wanted) && !options.Value.AllowedHosts.Contains(host, StringComparer.OrdinalIgnoreCase))
            addresses = [.. addresses.Where(a => !IsInside(a))];
        if (addresses.Length == 0)
        {
            throw new HttpRequestException(
                HttpRequestError.ConnectionError,
                $"{host} is on this machine or a private network; name it in Notifications:AllowedHosts if that push service is yours");
        }

        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        try
        {
            await socket.ConnectAsync(addresses, context.DnsEndPoint.Port, cancellationToken);
            return new NetworkStream(socket, ownsSocket: true);
        }
        catch
        {
            socket.Dispose();
            throw;
        }
    }

    /// <summary>Whether an address is this machine's or of a network that the internet does not reach (RFC 6890).</summary>
    internal static bool IsInside(IPAddress address)
    {
        if (address.IsIPv4MappedToIPv6)
            address = address.MapToIPv4();
        return Inside.Any(network => network.Contains(address));
    }

    private bool IsOurOwn(Uri uri) =>
        uri.IsLoopback && options.Value.LoopbackOrigins.Contains(uri.GetLeftPart(UriPartial.Authority), StringComparer.OrdinalIgnoreCase);

    private static bool Covers(string allowed, string host) =>
        allowed.StartsWith("*.", StringComparison.Ordinal)
            ? host.Length > allowed.Length - 1 && host.EndsWith(allowed[1..], StringComparison.OrdinalIgnoreCase)
            : host.Equals(allowed, StringComparison.OrdinalIgnoreCase);
}
