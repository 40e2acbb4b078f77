using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.StaticAssets;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>One short name for all scripts, styles and pictures together: it changes when any of them does, and the service worker's cache with it.</summary>
public sealed class AssetVersion(EndpointDataSource endpoints)
{
    private readonly Lazy<string> _text = new(() => Compute(endpoints));

    /// <summary>Twelve hexadecimal digits.</summary>
    public string Text => _text.Value;

    private static string Compute(EndpointDataSource endpoints)
    {
        var lines = endpoints.Endpoints
            .Select(e => e.Metadata.GetMetadata<StaticAssetDescriptor>())
            .Where(d => d is not null)
            .Select(d => $"{d!.Route} {d.Properties.FirstOrDefault(p => p.Name == "integrity")?.Value}")
            .Order(StringComparer.Ordinal);
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(string.Join('\n', lines))))[..12];
    }
}
