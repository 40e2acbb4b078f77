using System.Globalization;
using PavementWatch.Core.Wire;

namespace PavementWatch.Server.Gateways;

/// <summary>What a gateway says ails it.</summary>
internal static class ReportedFaults
{
    /// <summary>Kind of what its probes do not give.</summary>
    public const string Probes = "probes";

    /// <summary>Kind of readings that wait there for their dates.</summary>
    public const string Dates = "dates";

    /// <summary>Each fault with its kind, in words for the business; there may be several of the probes.</summary>
    public static IEnumerable<(string Kind, string Words)> Of(GatewayReport? report)
    {
        foreach (var (probe, fault) in report?.ProbeFaults ?? new Dictionary<string, string>())
            yield return (Probes, $"{probe}: {fault}");
        if (report?.DiskFault is { } disk)
            yield return ("disk", disk);
        if (report?.SettingsDiskFault is { } settings)
            yield return ("settings", settings);
        if (report?.LinkFault is { } link)
            yield return ("link", link);
        if (report?.PanelFault is { } panel)
            yield return ("panel", panel);
        if (report?.PutOff is > 0 and var putOff)
            yield return (Dates, string.Create(CultureInfo.InvariantCulture, $"{putOff} readings wait at the gateway, dated by another clock than the server's; run timedatectl on both and set the one that is wrong"));
    }
}
