using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Gateways;

/// <summary>The gateways of the registry and what is known of each since the server started.</summary>
internal sealed class GatewayBoard(
    GatewayCatalogue catalogue, GatewayStatusBoard statuses, PackLedger packs, IngestMetrics metrics, SpotBoard spots, SpotsWithoutProbe unprobed) : IGatewayBoard
{
    public IReadOnlyList<GatewayNow> All() =>
    [
        .. catalogue.All.Select(g =>
        {
            var status = statuses.Find(g.Key);
            return new GatewayNow(
                g.Key.Value,
                status?.Online ?? false,
                status?.LastSeenAt,
                g.Value.Select(s => spots.SupplyVolts(s.Id)).FirstOrDefault(v => v is not null),
                packs.Missing(g.Key).Count,
                metrics.RefusedBy(g.Key),
                [.. g.Value.Select(s => s.Name)])
            {
                SpotIds = [.. g.Value.Select(s => s.Id)],
                NoLongerReads = [.. NoLongerReads(g.Key)],
                Settings = Standing(status?.Report, SettingsPublisher.SettingsOf(g.Value).Version),
                SettingsFault = status?.Report?.SettingsFault,
                Faults = [.. unprobed.Of(g.Key).Select(spot => $"no probe for {spot.Name}, which is estimated only"), .. ReportedFaults.Of(status?.Report).Select(fault => fault.Words)],
            };
        }),
    ];

    // Where nobody reads it since, the page of spots says so.
    private IEnumerable<string> NoLongerReads(GatewayId gateway)
    {
        foreach (var (spot, until) in catalogue.Former(gateway).OrderBy(f => f.Until))
        {
            if (catalogue.Of(spot) is { } other)
                yield return $"{gateway} no longer reads {spots.Find(spot)?.Name ?? spot.Value}, which is on {other} since {MomentTexts.InFull(until, spots.Find(spot)?.TimeZoneId ?? "Etc/UTC")}";
        }
    }

    private static SettingsStanding Standing(GatewayReport? report, string version) =>
        report?.SettingsFault is not null ? SettingsStanding.Refused
        : report?.SettingsVersion == version ? SettingsStanding.InUse
        : SettingsStanding.Waiting;
}
