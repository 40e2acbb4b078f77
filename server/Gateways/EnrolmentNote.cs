using System.Security.Cryptography;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Access;
using PavementWatch.Server.Broker;

namespace PavementWatch.Server.Gateways;

/// <summary>What somebody at the gateway types.</summary>
internal sealed class EnrolmentNote(PublicAddress address, IOptions<BrokerOptions> broker, IConfiguration configuration, OwnAuthority own)
{
    /// <summary>Whether the pages' https, where there is one, shows the own certificate.</summary>
    public static bool PagesShowOwn(BrokerOptions broker, IConfiguration configuration) =>
        broker.Tls.Own && !configuration.GetSection("Kestrel:Certificates:Default").Exists();

    /// <summary>The command with the code in it.</summary>
    public string Command(string code)
    {
        var server = new Uri(address.Text);
        var rest = server.Scheme == Uri.UriSchemeHttps
            ? Fingerprint(server) is { } fingerprint ? $" --fingerprint {fingerprint}" : ""
            : server.IsLoopback ? "" : " --allow-unencrypted";
        return $"sudo gateway enrol {code} --server {address.Text}{rest}";
    }

    /// <summary>What is wrong with the address for a gateway on another machine, and the remedy; <c>null</c> when nothing is.</summary>
    public string? Caution()
    {
        var server = new Uri(address.Text);
        return server.IsLoopback
            ? $"{address.Text} is this machine only; for a gateway elsewhere set Access:PublicUrl to the address it reaches, e.g. https://walks.example"
            : server.Scheme == Uri.UriSchemeHttp
                ? "the address is not encrypted: do this only on a network nobody else is on, for the password travels in the open"
                : null;
    }

    private string? Fingerprint(Uri server) =>
        // Behind a proxy of another name the proxy's certificate counts, which a public authority signed.
        PagesShowOwn(broker.Value, configuration) && broker.Value.Tls.Names.Contains(server.Host, StringComparer.OrdinalIgnoreCase)
            && Addresses().Any(address => address.Contains("https://", StringComparison.OrdinalIgnoreCase))
            ? own.Certificate.GetCertHashString(HashAlgorithmName.SHA256)
            : null;

    private IEnumerable<string> Addresses() =>
        [configuration["Urls"] ?? "", .. configuration.GetSection("Kestrel:Endpoints").GetChildren().Select(endpoint => endpoint["Url"] ?? "")];
}
