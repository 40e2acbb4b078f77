using PavementWatch.Core.Readings;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Gateways;

/// <summary>Ends at the broker what was taken from a gateway in the registry: an old secret, a spot, the gateway itself.</summary>
/// <remarks>
/// Who signed in is not asked again, so an old connection would go on for as long as it holds. Called after each change on a
/// page and each enrolment; a change by the command line, which is another process, is seen within <see cref="Round"/>.
/// </remarks>
internal sealed class GatewayRights(
    GatewayCatalogue catalogue, IBroker broker, SettingsPublisher publisher, GatewayClocks clocks, ILogger<GatewayRights> logger) : ServerBackgroundService
{
    /// <summary>How often the registry is looked at, by the time of the machine: connections live by it, whatever the calendars show.</summary>
    public static readonly TimeSpan Round = TimeSpan.FromSeconds(5);

    private readonly SemaphoreSlim _oneAtATime = new(1);
    private readonly Dictionary<GatewayId, GatewayRight> _known = [];

    /// <summary>Ends what is no more; after any change leaves the gateways the settings that are good now.</summary>
    public async Task EnforceAsync(CancellationToken cancellationToken)
    {
        var changed = false;
        await _oneAtATime.WaitAsync(cancellationToken);
        try
        {
            await catalogue.RefreshAsync(cancellationToken);
            var rights = catalogue.Rights;
            foreach (var gateway in _known.Keys.Union(rights.Keys).ToList())
                changed |= await EnforceAsync(gateway, rights.GetValueOrDefault(gateway), cancellationToken);
        }
        finally
        {
            _oneAtATime.Release();
        }

        if (changed)
            await publisher.SendAsync(cancellationToken);
    }

    public override void Dispose()
    {
        _oneAtATime.Dispose();
        base.Dispose();
    }

    /// <returns>Whether anything was new.</returns>
    private async Task<bool> EnforceAsync(GatewayId gateway, GatewayRight? now, CancellationToken cancellationToken)
    {
        var before = _known.GetValueOrDefault(gateway);
        if (now is not null && before is not null && !now.Lacks(before) && !before.Lacks(now))
            return false;
        try
        {
            if (now is null)
            {
                await broker.ForgetAsync(gateway, cancellationToken);
                publisher.Forget(gateway);
                clocks.Forget(gateway);
            }
            else if (before is not null && now.Lacks(before))
            {
                await broker.DisconnectAsync(gateway, cancellationToken);
            }
        }
        catch (Exception failure) when (failure is not OperationCanceledException)
        {
            // What is known stays as it was, so the next round tries again.
            logger.RightsNotEnforced(gateway, failure.Message);
            return false;
        }

        if (now is null)
            _known.Remove(gateway);
        else
            _known[gateway] = now;
        return true;
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Round, TimeProvider.System);
        try
        {
            do
            {
                try
                {
                    await EnforceAsync(stoppingToken);
                }
                catch (System.Data.Common.DbException failure)
                {
                    logger.RightsNotRead(failure.Message);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }
}
