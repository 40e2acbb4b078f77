using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Access;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Notifications;

/// <summary>Tells the business of each warning that no walker's device has shown in time, and forgets old notifications.</summary>
internal sealed class UnseenWarnings(
    IDbContextFactory<RegistryDb> registry,
    IEnumerable<IBusinessWay> ways,
    SpotCatalogue catalogue,
    PublicAddress address,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<UnseenWarnings> logger) : BackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Matters = TimeSpan.FromHours(2);
    private static readonly TimeSpan Kept = TimeSpan.FromDays(30);
    private readonly IReadOnlyList<IBusinessWay> _ways = [.. ways.Where(w => w.IsSet)];
    private DateTimeOffset _nextPrune;

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Period, time);
        try
        {
            do
            {
                try
                {
                    await PassAsync(stoppingToken);
                }
                catch (Exception e) when (e is not OperationCanceledException)
                {
                    // The loop's edge: whatever it was, the next warning must be looked at.
                    logger.UnseenPassFailed(e);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // A normal end.
        }
    }

    /// <summary>Looks at what devices have shown, and sends what is due.</summary>
    public async Task PassAsync(CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await LookAsync(db, now, cancellationToken);
        await SendAsync(db, now, cancellationToken);
        if (now < _nextPrune)
            return;
        var before = now - Kept;
        await db.Notifications.Where(n => n.CreatedAt < before).ExecuteDeleteAsync(cancellationToken);
        await db.BusinessNotices.Where(n => n.CreatedAt < before).ExecuteDeleteAsync(cancellationToken);
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
    }

    private void Tell(RegistryDb db, AlertEventRow warning, List<NotificationRow> devices, DateTimeOffset now)
    {
        warning.Unseen = UnseenStanding.Unseen;
        logger.WarningUnseen(warning.SpotId, warning.Walkers, devices.Count, _ways.Count);
        var notice = new BusinessNotice(
            warning.Id,
            warning.SpotId,
            catalogue.Find(SpotId.Parse(warning.SpotId))?.Name ?? warning.SpotId,
            warning.Text,
            warning.At,
            warning.Walkers,
            devices.Count,
            devices.Count(n => n.Standing == NotificationStanding.Sent),
            $"{address.Text}/spots/{warning.SpotId}");
        foreach (var way in _ways)
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

    private async Task SendAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var due = await db.BusinessNotices
            .Where(n => n.Standing == NotificationStanding.Waiting && n.NextAttemptAt <= now)
            .OrderBy(n => n.CreatedAt).ToListAsync(cancellationToken);
        foreach (var notice in due)
        {
            if (notice.ExpiresAt <= now || _ways.FirstOrDefault(w => w.Name == notice.Way) is not { } way)
            {
                notice.Standing = NotificationStanding.Expired;
                logger.NoticeExpired(notice.Way, notice.EventId, notice.Trouble);
            }
            else
            {
                Record(notice, await way.SendAsync(notice.Id, BusinessNotice.Of(notice.Payload), cancellationToken));
            }

            // After each one: what was sent must not be sent again after a crash.
            await db.SaveChangesAsync(CancellationToken.None);
        }
    }

    private void Record(BusinessNoticeRow notice, SendOutcome outcome)
    {
        var now = time.GetUtcNow();
        notice.Attempts++;
        switch (outcome)
        {
            case SendOutcome.Taken:
                (notice.Standing, notice.SentAt, notice.Trouble) = (NotificationStanding.Sent, now, "");
                logger.BusinessTold(notice.Way, notice.EventId);
                break;
            case SendOutcome.TryLater later:
                notice.Trouble = later.Detail;
                notice.NextAttemptAt = now + options.Value.Pause(notice.Attempts, later.After);
                logger.NoticeWaits(notice.Way, notice.EventId, later.Detail, notice.NextAttemptAt);
                break;
            case SendOutcome.Refused refused:
                (notice.Standing, notice.Trouble) = (NotificationStanding.Failed, refused.Detail);
                logger.NoticeRefused(notice.Way, notice.EventId, refused.Detail);
                break;
            default:
                throw new InvalidOperationException($"{notice.Way} ended in {outcome}, which only a device's push service does");
        }
    }
}
