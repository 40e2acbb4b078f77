using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Gateways;

/// <summary>Spots for which their gateway says that it has no probe: nothing will ever be measured there, and the business is told.</summary>
internal sealed class SpotsWithoutProbe(
    GatewayCatalogue catalogue, GatewayStatusBoard statuses, ServiceFaults faults, TimeProvider time, ILogger<SpotsWithoutProbe> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromMinutes(1);

    private const string Prefix = "probe.";

    private readonly HashSet<SpotId> _told = [];

    /// <summary>Those of a gateway, by its last report that says anything of it.</summary>
    public IReadOnlyList<Spot> Of(GatewayId gateway) =>
        statuses.Find(gateway)?.Report is { State: GatewayReport.Online, SpotsWithoutProbe: { } without }
        && catalogue.All.TryGetValue(gateway, out var spots)
            ? [.. spots.Where(spot => without.Contains(spot.Id.Value))]
            : [];

    /// <summary>Raises a fault for each such spot, and ends those of which their gateway says that they have one, or that are no more its spots. A gateway that is off says nothing.</summary>
    public void Look()
    {
        var now = catalogue.All.Keys.SelectMany(gateway => Of(gateway).Select(spot => (Gateway: gateway, Spot: spot))).ToList();
        foreach (var (gateway, spot) in now)
        {
            _told.Add(spot.Id);
            faults.Raise(
                Key(spot.Id),
                $"{spot.Name}: gateway {gateway} is to measure it and has no probe for it, so it is estimated only; give it a surface probe in the gateway's settings (Probes), or take the spot from this gateway");
        }

        foreach (var spot in _told.Except(now.Select(one => one.Spot.Id)).Where(spot => !IsUnsaid(spot)).ToList())
        {
            _told.Remove(spot);
            faults.End(Key(spot));
        }

        // Told before a restart, by a gateway that has not said anything since.
        foreach (var (key, words) in faults.ToldBefore.Where(told => told.Key.StartsWith(Prefix, StringComparison.Ordinal)))
        {
            if (!SpotId.TryParse(key[Prefix.Length..], out var spot) || !IsUnsaid(spot))
                continue;
            _told.Add(spot);
            faults.Raise(key, words);
        }
    }

    /// <summary>Whether nobody can say just now whether a spot has a probe.</summary>
    private bool IsUnsaid(SpotId spot) =>
        catalogue.Of(spot) is { } gateway && statuses.Find(gateway)?.Report is not { State: GatewayReport.Online };

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(
        Period,
        time,
        _ =>
        {
            Look();
            return Task.CompletedTask;
        },
        logger.ProbesNotLookedAt,
        stoppingToken);

    private static string Key(SpotId spot) => Prefix + spot;
}
