namespace PavementWatch.Dashboards;

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
    long PacksMissing, long ReadingsRefused, IReadOnlyList<string> Spots);

/// <summary>No gateways are known to a host that has no registry.</summary>
internal sealed class NoGateways : IGatewayBoard
{
    public IReadOnlyList<GatewayNow> All() => [];
}
