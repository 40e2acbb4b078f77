namespace PavementWatch.Server.Faults;

/// <summary>An address as logs, faults and errors may show it: no path, query or user, any of which may be a key.</summary>
internal static class ShownAddress
{
    /// <summary>Scheme and host, with the port where it is not the usual one; empty for nothing.</summary>
    public static string Of(string address) =>
        address.Length == 0 ? ""
        : Uri.TryCreate(address, UriKind.Absolute, out var uri) && uri.Host.Length > 0 ? $"{uri.Scheme}://{uri.Authority}"
        : "not an address";
}
