using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Notifications;

/// <summary>Puts each warning that no walker's device has shown in time into the outbox to the business, and forgets old notifications.</summary>
internal sealed class UnseenWarnings(
    IDbContextFactory<RegistryDb> registry,
    BusinessOutbox outbox,
    SpotCatalogue catalogue,
    PublicAddress address,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<UnseenWarnings> logger) : ServerBackgroundService
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
            // Of one spot and side only the newest counts; it is looked at by itself.
            var overtaken = await db.AlertEvents.AnyAsync(
                e => e.SpotId == warning.SpotId && e.Side == warning.Side && e.Id > warning.Id && e.Notified, cancellationToken);
            if (overtaken || devices.Any(n => n.ShownAt is not null))
                warning.Unseen = UnseenStanding.Settled;
            else if (IsLate(warning.At))
                Tell(db, warning, devices, now);
        }

        await db.SaveChangesAsync(cancellationToken);
        if (watched.Any(w => w.Unseen == UnseenStanding.Unseen))
            outbox.Call();
    }

    private void Tell(RegistryDb db, AlertEventRow warning, List<NotificationRow> devices, DateTimeOffset now)
    {
        logger.WarningUnseen(warning.SpotId, warning.Walkers, devices.Count, outbox.Channels.Count);
        Put(
            db, warning,
            NoticeOf(
                warning.Id, SpotId.Parse(warning.SpotId), warning.Decision(), warning.Walkers, devices.Count,
                devices.Count(n => n.Standing == NotificationStanding.Sent)),
            []);
    }

    /// <summary>Whether a warning that no device shows is something for the business by now; one that lies ahead was dated by a clock set back since.</summary>
    public bool IsLate(DateTimeOffset at) => (time.GetUtcNow() - at).Duration() >= options.Value.Business.After;

    /// <summary>What the business is told of a warning.</summary>
    public UnseenWarningNotice NoticeOf(int eventId, SpotId spot, AlertDecision decision, int walkers, int devices, int sent)
    {
        var (name, zone) = catalogue.Find(spot) is { } known ? (known.Name, known.TimeZoneId) : (spot.Value, "Etc/UTC");
        return new(
            eventId, spot.Value, name, AlertTexts.Whole(name, decision, zone, TemperatureUnit.Both), decision.At, walkers, devices, sent, $"{address.Text}/spots/{spot}");
    }

    /// <summary>Puts a notice into the outbox of each way; the caller saves.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="warning">The warning, as written.</param>
    /// <param name="notice">What is told.</param>
    /// <param name="toldBy">Names of the ways that took it before it could be written.</param>
    public void Put(RegistryDb db, AlertEventRow warning, UnseenWarningNotice notice, IReadOnlyCollection<string> toldBy)
    {
        var now = time.GetUtcNow();
        warning.Unseen = UnseenStanding.Unseen;
        foreach (var channel in outbox.Channels)
        {
            var told = toldBy.Contains(channel.Name);
            db.BusinessNotices.Add(new BusinessNoticeRow
            {
                Id = Guid.CreateVersion7(now),
                EventId = warning.Id,
                Channel = channel.Name,
                Payload = notice.ToJson(),
                CreatedAt = now,
                // From now on: the warning's own time is that of a clock which may have been set since.
                ExpiresAt = now + Matters,
                NextAttemptAt = now,
                Standing = told ? NotificationStanding.Sent : NotificationStanding.Waiting,
                SentAt = told ? now : null,
            });
        }
    }

    /// <summary>Tells the business of a warning that the registry does not take, by the ways that have not taken it yet.</summary>
    /// <param name="id">Names the notice, so that a repeat is known as one.</param>
    /// <param name="notice">What is told.</param>
    /// <param name="toldBy">Names of the ways that took it; they are added.</param>
    public async Task TellAsync(Guid id, UnseenWarningNotice notice, ICollection<string> toldBy)
    {
        foreach (var channel in outbox.Channels.Where(channel => !toldBy.Contains(channel.Name)))
        {
            try
            {
                var outcome = await channel.SendAsync(id, notice, CancellationToken.None);
                logger.WarningToldUnwritten(channel.Name, notice.Spot, outcome);
                if (outcome is SendOutcome.Taken)
                    toldBy.Add(channel.Name);
            }
            catch (Exception failure)
            {
                // The edge of a task nobody awaits: the next way must hear it all the same.
                logger.UnseenPassFailed(failure);
            }
        }
    }
}
