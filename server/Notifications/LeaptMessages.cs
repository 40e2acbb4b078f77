using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>Messages that wait while the clock leaps: ahead, they are as old as they were; back, no repeat waits longer for it.</summary>
internal static class LeaptMessages
{
    /// <summary>A shorter leap does not matter to a message.</summary>
    public static readonly TimeSpan Least = TimeSpan.FromMinutes(1);

    /// <summary>Lets repeats go at once whose times a clock gave that was set back since.</summary>
    /// <param name="waiting">Which.</param>
    /// <param name="now">The time now, UTC.</param>
    /// <param name="cancellationToken">Stops.</param>
    public static Task<int> RepeatNowAsync<TRow>(IQueryable<TRow> waiting, DateTimeOffset now, CancellationToken cancellationToken)
        where TRow : OutboxRow =>
        waiting.Where(n => n.NextAttemptAt > now).ExecuteUpdateAsync(set => set.SetProperty(n => n.NextAttemptAt, now), cancellationToken);

    /// <summary>Moves the times of messages, all or none.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="waiting">Which.</param>
    /// <param name="ahead">How far the clock leapt.</param>
    /// <param name="cancellationToken">Stops.</param>
    public static async Task MoveAsync<TRow>(RegistryDb db, IQueryable<TRow> waiting, TimeSpan ahead, CancellationToken cancellationToken)
        where TRow : OutboxRow
    {
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        foreach (var row in await waiting.AsNoTracking().ToListAsync(cancellationToken))
        {
            var (created, next, expires) = (row.CreatedAt + ahead, row.NextAttemptAt + ahead, row.ExpiresAt + ahead);
            await waiting.Where(n => n.Id == row.Id).ExecuteUpdateAsync(
                set => set.SetProperty(n => n.CreatedAt, created).SetProperty(n => n.NextAttemptAt, next).SetProperty(n => n.ExpiresAt, expires),
                cancellationToken);
        }

        await together.CommitAsync(cancellationToken);
    }
}
