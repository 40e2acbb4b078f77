using Microsoft.Extensions.Options;
using PavementWatch.Core.Places;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Fitting;

/// <summary>Fits each spot once a night, by its own clock; what was missed while the server was down is made up at the start.</summary>
internal sealed class NightlyFits(
    FitRunner runner, FitStore fits, SpotCatalogue catalogue, IOptions<FittingOptions> options, TimeProvider time,
    ILogger<NightlyFits> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Look = TimeSpan.FromMinutes(1);

    private readonly TaskCompletionSource _firstLook = new(TaskCreationOptions.RunContinuationsAsynchronously);

    private long _lookedAtTicks;

    /// <summary>The time of the last look that is over, UTC.</summary>
    public DateTimeOffset LookedAt => new(Volatile.Read(ref _lookedAtTicks), TimeSpan.Zero);

    /// <summary>Ends when what was missed is made up.</summary>
    public Task FirstLook => _firstLook.Task;

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Look, time);
        do
        {
            var now = time.GetUtcNow();
            try
            {
                await FitDueAsync(now, stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
            catch (Exception e)
            {
                // The loop's edge.
                logger.NightFailed(e);
            }

            Volatile.Write(ref _lookedAtTicks, now.UtcTicks);
            _firstLook.TrySetResult();
        }
        while (await TicksAsync(timer, stoppingToken));
    }

    /// <summary>The last moment, not later than now, at which the spot's clock showed the nightly time.</summary>
    public static DateTimeOffset LastDue(Spot spot, TimeSpan nightlyAt, DateTimeOffset now)
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
        var day = LocalDay.Of(zone, now);
        var due = LocalDay.At(zone, day, nightlyAt);
        return due <= now ? due : LocalDay.At(zone, day.AddDays(-1), nightlyAt);
    }

    private static async ValueTask<bool> TicksAsync(PeriodicTimer timer, CancellationToken cancellationToken)
    {
        try
        {
            return await timer.WaitForNextTickAsync(cancellationToken);
        }
        catch (OperationCanceledException)
        {
            return false;
        }
    }

    private async Task FitDueAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        await fits.RefreshAsync(cancellationToken);
        var due = catalogue.All.Select(spot => (Spot: spot, At: LastDue(spot, options.Value.NightlyAt, now)))
            // One that lies ahead was made by a clock that has been set back since; its time may be a year away.
            .Where(s => !(fits.InUse(s.Spot.Id)?.FittedAt is { } fitted && fitted >= s.At && fitted <= now)).ToList();
        if (due.Count == 0)
            return;
        // A newer one may wait for the analyst, or have been refused.
        var last = await fits.LastFittedAsync(due.Select(s => s.Spot.Id), now, cancellationToken);
        due.RemoveAll(s => last.TryGetValue(s.Spot.Id, out var fitted) && fitted >= s.At);
        // A failed fit leaves the one in use where it is, and the other spots get theirs.
        if (due.Count > 0)
            await runner.RunAsync([.. due.Select(s => s.Spot)], null, (_, failure) => logger.NightFailed(failure), cancellationToken);
    }
}
