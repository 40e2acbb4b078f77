using PavementWatch.Dashboards;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Registry;

namespace PavementWatch.Server.Watch;

/// <summary>The gateways of the registry and what is known of each since the server started.</summary>
internal sealed class GatewayBoard(
    SpotCatalogue catalogue, GatewayStatusBoard statuses, PackLedger packs, IngestMetrics metrics, SpotBoard spots) : IGatewayBoard
{
    public IReadOnlyList<GatewayNow> All() =>
    [
        .. catalogue.Gateways.Select(g =>
        {
            var status = statuses.Find(g.Key);
            return new GatewayNow(
                g.Key.Value,
                status?.Online ?? false,
                status?.LastSeenAt,
                g.Value.Select(s => spots.SupplyVolts(s.Id)).FirstOrDefault(v => v is not null),
                packs.Missing(g.Key).Count,
                metrics.RefusedBy(g.Key),
                [.. g.Value.Select(s => s.Name)]);
        }),
    ];
}
