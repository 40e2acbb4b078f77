using System.Collections.Concurrent;
using System.Security.Cryptography;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Gateways;

/// <summary>Leaves every gateway's settings at the broker, retained, and again when the business changes them.</summary>
/// <remarks>
/// The version is made of the contents, so a gateway's acknowledgement can be judged after any restart. Beside the
/// settings goes the server's word for spots that give no readings, each minute, for the lamp at the gate.
/// </remarks>
internal sealed class SettingsPublisher(GatewayCatalogue catalogue, ISpotBoard board, IBroker broker, TimeProvider time, ILogger<SettingsPublisher> logger)
    : ServerBackgroundService
{
    // Spots may also be changed from the command line, by another process.
    private static readonly TimeSpan Round = TimeSpan.FromMinutes(1);

    private readonly ConcurrentDictionary<GatewayId, GatewaySettings> _sent = [];
    private readonly SemaphoreSlim _oneAtATime = new(1);

    /// <summary>What a gateway with these spots is to use.</summary>
    public static GatewaySettings SettingsOf(IReadOnlyList<Spot> spots)
    {
        var settings = new GatewaySettings
        {
            Version = "",
            Spots = spots.OrderBy(s => s.Id.Value, StringComparer.Ordinal).ToDictionary(s => s.Id.Value, s => new SpotSettings
            {
                Surface = SurfaceKinds.Slug(s.Surface),
                EmissivityFraction = s.EmissivityFraction,
                LimitCelsius = s.LimitCelsius,
            }),
        };
        return settings with { Version = Convert.ToHexStringLower(SHA256.HashData(settings.Write()))[..12] };
    }

    /// <summary>Leaves what changed. What cannot be left now is tried again in the next round.</summary>
    public async Task SendAsync(CancellationToken cancellationToken)
    {
        await _oneAtATime.WaitAsync(cancellationToken);
        try
        {
            // Also to one that has no spot left: what lies at the broker for it still names them.
            foreach (var (gateway, spots) in catalogue.All)
                await SendAsync(gateway, SettingsOf(spots) with { Estimates = EstimatesOf(spots) }, cancellationToken);
        }
        finally
        {
            _oneAtATime.Release();
        }
    }

    /// <summary>Forgets what was left for a gateway that is no more; one of the same name gets its settings anew.</summary>
    public void Forget(GatewayId gateway) => _sent.TryRemove(gateway, out _);

    public override void Dispose()
    {
        _oneAtATime.Dispose();
        base.Dispose();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Round, time);
        try
        {
            do
            {
                await SendAsync(stoppingToken);
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private async Task SendAsync(GatewayId gateway, GatewaySettings settings, CancellationToken cancellationToken)
    {
        var before = _sent.GetValueOrDefault(gateway);
        if (!broker.IsUp || (before?.Version == settings.Version && Same(before.Estimates, settings.Estimates)))
            return;
        try
        {
            await broker.PublishSettingsAsync(gateway, settings.Write(), cancellationToken);
            _sent[gateway] = settings;
            if (before?.Version != settings.Version)
                logger.SettingsSent(settings.Version, gateway);
        }
        catch (Exception failure) when (failure is not OperationCanceledException)
        {
            logger.SettingsNotSent(gateway, failure.Message);
        }
    }

    /// <summary>The word for each spot that is estimated now; <c>null</c> when none is.</summary>
    private Dictionary<string, SpotEstimate>? EstimatesOf(IReadOnlyList<Spot> spots)
    {
        Dictionary<string, SpotEstimate> estimates = [];
        foreach (var spot in spots)
        {
            // Of a spot nobody has measured yet the lamp knows nothing, as the pages do not.
            if (board.Find(spot.Id) is { Estimated: true, Word: not GroundWord.Unknown, SurfaceCelsius: { } surface, UpperCelsius: { } upper, Now: var at })
                estimates[spot.Id.Value] = new SpotEstimate(Math.Round(surface, 1), Math.Round(upper, 1), at);
        }

        return estimates.Count > 0 ? estimates : null;
    }

    private static bool Same(IReadOnlyDictionary<string, SpotEstimate>? one, IReadOnlyDictionary<string, SpotEstimate>? other) =>
        (one?.Count ?? 0) == (other?.Count ?? 0) && (one is null || one.All(estimate => other!.TryGetValue(estimate.Key, out var also) && also == estimate.Value));
}
