using System.Net;

namespace PavementWatch.Server.Access;

/// <summary>The names this server answers to: its public address, those it listens on, further ones of <c>AllowedHosts</c>, and this machine's own.</summary>
/// <remarks>A page of another site whose name is made to lead here, or a forged name in a link we send, ends at this list.</remarks>
internal sealed class KnownHosts
{
    private readonly HashSet<string> _names = new(StringComparer.OrdinalIgnoreCase) { "localhost" };
    private readonly bool _all;
    private readonly bool _anyAddress;

    public KnownHosts(PublicAddress address, IConfiguration configuration)
    {
        _names.Add(new Uri(address.Text.Replace("*", "localhost", StringComparison.Ordinal).Replace("+", "localhost", StringComparison.Ordinal)).Host);
        foreach (var name in Parts(configuration["AllowedHosts"]))
        {
            _all |= name == "*";
            _names.Add(name);
        }

        foreach (var url in Parts(configuration["Urls"]))
        {
            var host = BindingAddress.Parse(url).Host;
            var wildcard = host is "*" or "+" || (IPAddress.TryParse(host.Trim('[', ']'), out var ip) && (ip.Equals(IPAddress.Any) || ip.Equals(IPAddress.IPv6Any)));
            _anyAddress |= wildcard && !address.IsSet;
            _names.Add(wildcard ? Environment.MachineName : host);
        }
    }

    public bool Knows(HttpContext http)
    {
        if (http.Request.Host is not { HasValue: true, Host: { Length: > 0 } host })
            return false;
        if (_all || _names.Contains(host))
            return true;
        // An address of numbers cannot be made to lead elsewhere; by the one that was dialled, gateways and health probes come.
        return IPAddress.TryParse(host.Trim('[', ']'), out var ip)
            && (_anyAddress || IPAddress.IsLoopback(ip) || ip.Equals(Plain(http.Connection.LocalIpAddress)));
    }

    private static IPAddress? Plain(IPAddress? address) => address is { IsIPv4MappedToIPv6: true } ? address.MapToIPv4() : address;

    private static string[] Parts(string? text) => (text ?? "").Split(';', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
}
