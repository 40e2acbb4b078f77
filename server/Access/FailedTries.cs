using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Access;

/// <summary>Counts failed tries of links and codes by address, each kind by itself. What is good is never held up by what failed.</summary>
internal sealed class FailedTries(IOptions<AccessOptions> options, [FromKeyedServices(Clocks.People)] TimeProvider time)
{
    /// <summary>Opening a link that signs in.</summary>
    public const string Links = "links";

    /// <summary>Redeeming a gateway's code.</summary>
    public const string Codes = "codes";

    /// <summary>Signing in with a passkey.</summary>
    public const string Passkeys = "passkeys";

    /// <summary>Addresses remembered at most.</summary>
    internal const int MostAddresses = 10_000;

    private static readonly TimeSpan Window = TimeSpan.FromMinutes(1);

    private readonly Lock _lock = new();
    private readonly Dictionary<(string Kind, string Address), (long Since, int Count)> _counts = [];

    /// <summary>Counts one that failed.</summary>
    /// <returns>Whether there were more of this kind from this address within the minute than <see cref="AccessOptions.EntriesPerMinute"/>.</returns>
    public bool CountIsTooMany(string kind, HttpContext http)
    {
        var key = (kind, Address(http));
        var now = time.GetTimestamp();
        lock (_lock)
        {
            if (_counts.Count >= MostAddresses && !_counts.ContainsKey(key))
                MakeRoom_NeedsLock(now);
            var (since, count) = _counts.GetValueOrDefault(key, (now, 0));
            if (time.GetElapsedTime(since, now) >= Window)
                (since, count) = (now, 0);
            _counts[key] = (since, count + 1);
            return count >= options.Value.EntriesPerMinute;
        }
    }

    /// <summary>Whose requests count together: an IPv4 address, or the network a subscriber has in IPv6.</summary>
    public static string Address(HttpContext http)
    {
        if (http.Connection.RemoteIpAddress is not { } address)
            return "unknown";
        if (address.IsIPv4MappedToIPv6)
            address = address.MapToIPv4();
        if (address.AddressFamily != AddressFamily.InterNetworkV6)
            return address.ToString();
        var bytes = address.GetAddressBytes();
        bytes.AsSpan(8).Clear();
        return new IPAddress(bytes).ToString();
    }

    // Secrets are far too long to be guessed; this bounds noise, so forgetting counts loses nothing.
    private void MakeRoom_NeedsLock(long now)
    {
        foreach (var old in _counts.Where(c => time.GetElapsedTime(c.Value.Since, now) >= Window).Select(c => c.Key).ToList())
            _counts.Remove(old);
        if (_counts.Count >= MostAddresses)
            _counts.Clear();
    }
}
