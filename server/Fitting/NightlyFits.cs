using Microsoft.Extensions.Options;
using PavementWatch.Core.Places;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Fitting;

/// <summary>Fits each spot once a night, by its own clock; what was missed while the server was down is made up at the start.</summary>
internal sealed class NightlyFits(
    FitRunner runner, FitStore book, SpotCatalogue catalogue, IOptions<FittingOptions> options, TimeProvider time,
    ILogger<NightlyFits> logger) : Worker
{
    private static readonly TimeSpan Look = TimeSpan.FromMinutes(1);

    private readonly TaskCompletionSource _firstLook = new(TaskCreationOptions.RunContinuationsAsynchronously);

    /// <summary>Ends when what was missed is made up.</summary>
    public Task FirstLook => _firstLook.Task;

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Look, time);
        do
        {
            await TryAsync(book.RefreshAsync, stoppingToken);
            foreach (var spot in catalogue.All)
                await TryAsync(token => FitIfDueAsync(spot, token), stoppingToken);
            _firstLook.TrySetResult();
        }
        while (await TicksAsync(timer, stoppingToken));
    }

    private async Task TryAsync(Func<CancellationToken, Task> step, CancellationToken cancellationToken)
    {
        try
        {
            await step(cancellationToken);
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            // The server stops.
        }
        catch (Exception e)
        {
            // The loop's edge: a failed fit leaves the one in use where it is, and the other spots get theirs.
            logger.NightFailed(e);
        }
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

    private async Task FitIfDueAsync(Spot spot, CancellationToken cancellationToken)
    {
        var last = book.InUse(spot.Id) is { } inUse && inUse.FittedAt >= LastDue(spot, options.Value.NightlyAt, time.GetUtcNow())
            ? inUse.FittedAt
            : await book.LastFittedAsync(spot.Id, cancellationToken);
        if (last is null || last < LastDue(spot, options.Value.NightlyAt, time.GetUtcNow()))
            await runner.RunAsync(spot, null, cancellationToken);
    }
}
