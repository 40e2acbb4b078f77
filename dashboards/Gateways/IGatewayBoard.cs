using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Gateways;

/// <summary>The gateways as the business sees them.</summary>
public interface IGatewayBoard
{
    /// <summary>Every gateway; empty when there are none.</summary>
    IReadOnlyList<GatewayNow> All();
}

/// <summary>One gateway now.</summary>
/// <param name="Id">Its name.</param>
/// <param name="Online">Whether it is connected.</param>
/// <param name="HeardAt">When it last sent anything, UTC; <c>null</c> when it never did.</param>
/// <param name="SupplyVolts">[V] Its supply, where measured.</param>
/// <param name="PacksMissing">Packs whose numbers were skipped since it started.</param>
/// <param name="ReadingsRefused">Readings kept out, with a reason in the log.</param>
/// <param name="Spots">Names of the spots it watches.</param>
public sealed record GatewayNow(
    string Id, bool Online, DateTimeOffset? HeardAt, double? SupplyVolts,
    long PacksMissing, long ReadingsRefused, IReadOnlyList<string> Spots)
{
    /// <summary>The same spots by their names on the wire.</summary>
    public IReadOnlyList<SpotId> SpotIds { get; init; } = [];

    /// <summary>A sentence for each spot that it no longer reads, since another gateway does, without its full stop.</summary>
    public IReadOnlyList<string> NoLongerReads { get; init; } = [];

    /// <summary>Whether it uses the limits set here.</summary>
    public SettingsStanding Settings { get; init; }

    /// <summary>Why it does not; <c>null</c> unless it refused them.</summary>
    public string? SettingsFault { get; init; }

    /// <summary>What ails it, by its own report: spots without a probe, probes that give nothing, a disk that takes nothing. Empty when all is well.</summary>
    public IReadOnlyList<string> Faults { get; init; } = [];
}

/// <summary>No gateways are known to a host that has no registry.</summary>
internal sealed class NoGateways : IGatewayBoard
{
    public IReadOnlyList<GatewayNow> All() => [];
}
