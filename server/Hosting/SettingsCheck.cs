using Microsoft.Extensions.Configuration.CommandLine;
using Microsoft.Extensions.Configuration.Json;
using Microsoft.Extensions.Configuration.Memory;

namespace PavementWatch.Server.Hosting;

/// <summary>The settings cannot be used; the message names each fault.</summary>
internal sealed class SettingsException(IReadOnlyList<string> faults) : Exception(string.Join(Environment.NewLine, faults))
{
    public IReadOnlyList<string> Faults { get; } = faults;
}

/// <summary>Finds sections nobody reads: a misspelt one would otherwise be passed over in silence. Keys within sections are checked by their options.</summary>
internal static class SettingsCheck
{
    /// <summary>Every section and key of the first level that something reads.</summary>
    public static readonly IReadOnlyList<string> Known =
    [
        "Access", "AllowedHosts", "Broker", "Data", "Enrolment", "Fitting", "Gateways", "Ingest", "Kestrel", "Logging", "Notifications", "Store", "Urls", "Watch", "Weather",
    ];

    /// <exception cref="SettingsException">A file, the command line or the caller names a section that is not known.</exception>
    public static void Run(IConfigurationRoot configuration)
    {
        var faults = configuration.Providers
            .Where(p => p is JsonConfigurationProvider or CommandLineConfigurationProvider or MemoryConfigurationProvider)
            .SelectMany(p => p.GetChildKeys([], null).Select(key => (Key: key, From: p)))
            .Where(k => !Known.Contains(k.Key, StringComparer.OrdinalIgnoreCase) && !IsHosts(k.Key))
            .Select(k => $"settings: section '{k.Key}' of {k.From} is not known, expected one of {string.Join(", ", Known)}; correct or remove it")
            .Distinct().ToList();
        if (faults.Count > 0)
            throw new SettingsException(faults);
    }

    // The host puts its own there: contentRoot, applicationName, environment.
    private static bool IsHosts(string key) =>
        key.Equals(HostDefaults.ContentRootKey, StringComparison.OrdinalIgnoreCase)
        || key.Equals(HostDefaults.ApplicationKey, StringComparison.OrdinalIgnoreCase)
        || key.Equals(HostDefaults.EnvironmentKey, StringComparison.OrdinalIgnoreCase);
}
