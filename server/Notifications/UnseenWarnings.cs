using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Access;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Notifications;

/// <summary>Puts each warning that no walker's device has shown in time into the outbox to the business, and forgets old notifications.</summary>
internal sealed class UnseenWarnings(
    IDbContextFactory<RegistryDb> registry,
    BusinessOutbox outbox,
    SpotCatalogue catalogue,
    PublicAddress address,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<UnseenWarnings> logger) : Worker
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Matters = TimeSpan.FromHours(2);
    private static readonly TimeSpan Kept = TimeSpan.FromDays(30);
    private DateTimeOffset _nextPrune;

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(Period, time, PassAsync, logger.UnseenPassFailed, stoppingToken);

    /// <summary>Looks at what devices have shown.</summary>
    public async Task PassAsync(CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await LookAsync(db, now, cancellationToken);
        if (now < _nextPrune)
            return;
        var before = now - Kept;
        await db.Notifications.Where(n => n.CreatedAt < before).ExecuteDeleteAsync(cancellationToken);
        await db.BusinessNotices.Where(n => n.CreatedAt < before).ExecuteDeleteAsync(cancellationToken);
        await db.Faults.Where(f => f.EndedAt < before).ExecuteDeleteAsync(cancellationToken);
        _nextPrune = now.AddHours(1);
    }

    private async Task LookAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var watched = await db.AlertEvents.Where(e => e.Unseen == UnseenStanding.Watched).ToListAsync(cancellationToken);
        foreach (var warning in watched)
        {
            var devices = await db.Notifications.AsNoTracking().Where(n => n.EventId == warning.Id).ToListAsync(cancellationToken);
            // Of one spot only the newest counts; it is looked at by itself.
            var overtaken = await db.AlertEvents.AnyAsync(
                e => e.SpotId == warning.SpotId && e.Id > warning.Id && e.Notified, cancellationToken);
            if (overtaken || devices.Any(n => n.ShownAt is not null))
                warning.Unseen = UnseenStanding.Settled;
            else if (now - warning.At >= options.Value.Business.After)
                Tell(db, warning, devices, now);
        }

        await db.SaveChangesAsync(cancellationToken);
        if (watched.Any(w => w.Unseen == UnseenStanding.Unseen))
            outbox.Call();
    }

    private void Tell(RegistryDb db, AlertEventRow warning, List<NotificationRow> devices, DateTimeOffset now)
    {
        warning.Unseen = UnseenStanding.Unseen;
        logger.WarningUnseen(warning.SpotId, warning.Walkers, devices.Count, outbox.Ways.Count);
        var notice = new UnseenWarningNotice(
            warning.Id,
            warning.SpotId,
            catalogue.Find(SpotId.Parse(warning.SpotId))?.Name ?? warning.SpotId,
            warning.Text,
            warning.At,
            warning.Walkers,
            devices.Count,
            devices.Count(n => n.Standing == NotificationStanding.Sent),
            $"{address.Text}/spots/{warning.SpotId}");
        foreach (var way in outbox.Ways)
        {
            db.BusinessNotices.Add(new BusinessNoticeRow
            {
                Id = Guid.CreateVersion7(now),
                EventId = warning.Id,
                Way = way.Name,
                Payload = notice.ToJson(),
                CreatedAt = now,
                ExpiresAt = warning.At + Matters,
                NextAttemptAt = now,
            });
        }
    }
}
