using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.StaticAssets;

namespace PavementWatch.Dashboards.Hosting;

/// <summary>
/// Scripts, styles and pictures as the build lists them. Pages load scripts and styles by names that change with their
/// content (fingerprints), so that no page ever runs the script of another build.
/// </summary>
public sealed partial class PageAssets
{
    private readonly Lazy<(string Version, string[] Kept, string ImportMap)> _listed;

    /// <summary>Reads the list when it is first asked for: the routes are mapped by then.</summary>
    /// <param name="endpoints">The host's routes.</param>
    public PageAssets(EndpointDataSource endpoints) => _listed = new(() => List(endpoints));

    /// <summary>One short name for all of them together, twelve hexadecimal digits: it changes when any of them does, and the service worker's cache with it.</summary>
    public string Version => _listed.Value.Version;

    /// <summary>Paths of what the service worker keeps for pages without a network.</summary>
    /// <remarks>Pictures by their plain names, by which the manifest and notifications name them; scripts by both, as browsers that know no import maps ask for the plain ones.</remarks>
    public IReadOnlyList<string> Kept => _listed.Value.Kept;

    /// <summary>JSON that tells the browser which file <c>import './text.js'</c> means.</summary>
    public string ImportMap => _listed.Value.ImportMap;

    /// <summary>The scripts a content security policy has to allow, as <c>script-src</c>: our own, and the import map by its hash, as it stands in the page.</summary>
    public string ScriptSources => $"script-src 'self' 'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(ImportMap)))}'";

    private static (string Version, string[] Kept, string ImportMap) List(EndpointDataSource endpoints)
    {
        var assets = endpoints.Endpoints.Select(e => e.Metadata.GetMetadata<StaticAssetDescriptor>()).OfType<StaticAssetDescriptor>().ToList();
        var lines = assets.Select(d => $"{d.Route} {Property(d, "integrity")}").Order(StringComparer.Ordinal);
        var version = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(string.Join('\n', lines))))[..12];

        var plain = assets.Select(d => d.Route).Where(route => Kinds().IsMatch(route) && !assets.Exists(d => d.Route == route && Property(d, "label") is not null));
        var fingerprinted = assets.Where(d => Kinds().IsMatch(d.Route) && Property(d, "label") is not null)
            .DistinctBy(d => d.Route)
            .ToDictionary(d => Property(d, "label")!, d => d.Route);
        string[] kept =
        [
            .. plain.Where(route => !route.EndsWith(".css", StringComparison.Ordinal))
                .Concat(fingerprinted.Values.Where(route => !route.StartsWith("icons/", StringComparison.Ordinal) && !route.EndsWith(".webmanifest", StringComparison.Ordinal)))
                .Distinct().Order(StringComparer.Ordinal).Select(route => "/" + route),
        ];
        var imports = fingerprinted.Where(f => f.Key.EndsWith(".js", StringComparison.Ordinal)).OrderBy(f => f.Key, StringComparer.Ordinal)
            .ToDictionary(f => "/" + f.Key, f => "/" + f.Value);
        return (version, kept, JsonSerializer.Serialize(new { imports }));
    }

    private static string? Property(StaticAssetDescriptor asset, string name) => asset.Properties.FirstOrDefault(p => p.Name == name)?.Value;

    // Ours alone; the plotting library is large, and comes when a day is opened.
    [GeneratedRegex(@"^(css/[^/]+\.css|js/[^/]+\.js|icons/[^/]+\.(png|svg)|manifest[^/]*\.webmanifest)$")]
    private static partial Regex Kinds();
}
