using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Gateways;

/// <summary>What infrared probes see, as their gateways say in their reports, told to the catalogue of spots: how much hotter the ground may be than a reading says depends on it.</summary>
internal sealed class ProbeBands(
    GatewayCatalogue catalogue, SpotCatalogue spots, GatewayStatusBoard statuses, TimeProvider time, ILogger<ProbeBands> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromMinutes(1);

    private readonly Lock _looking = new();

    // A gateway that is off says nothing; its probes see what they saw.
    private readonly Dictionary<GatewayId, IReadOnlyDictionary<string, string>?> _said = [];

    /// <summary>Takes over what gateways say now, each of its own spots.</summary>
    public void Look()
    {
        lock (_looking)
            Look_NeedsLock();
    }

    private void Look_NeedsLock()
    {
        var bands = new Dictionary<SpotId, InfraredBand>();
        foreach (var (gateway, measured) in catalogue.All)
        {
            if (statuses.Find(gateway)?.Report is { State: GatewayReport.Online } report)
                _said[gateway] = report.BandsMicrometers;
            if (_said.GetValueOrDefault(gateway) is not { } said)
                continue;
            foreach (var spot in measured)
            {
                if (said.TryGetValue(spot.Id.Value, out var name) && InfraredBands.TryParse(name, out var band) && band != InfraredBand.Wide)
                    bands[spot.Id] = band;
            }
        }

        spots.SetBands(bands);
    }

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(
        Period,
        time,
        _ =>
        {
            Look();
            return Task.CompletedTask;
        },
        logger.BandsNotLookedAt,
        stoppingToken);
}
