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
/// <remarks>Of those who were there when it was told, one device that showed it is enough; who came later is watched for by their own devices.</remarks>
internal sealed class UnseenWarnings(
    IDbContextFactory<RegistryDb> registry,
    BusinessOutbox outbox,
    NotificationOutbox notifications,
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
        await db.ConcernedWalkers.Where(c => c.Since < before).ExecuteDeleteAsync(cancellationToken);
        await db.Faults.Where(f => f.EndedAt < before).ExecuteDeleteAsync(cancellationToken);
        _nextPrune = now.AddHours(1);
    }

    private async Task LookAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        // Before the registry is asked: of a spot let go since then it knows what the business heard.
        var heldBack = notifications.HeldBack;
        var watched = await db.AlertEvents.Where(e => e.Unseen == UnseenStanding.Watched && !heldBack.Contains(e.SpotId)).ToListAsync(cancellationToken);
        foreach (var warning in watched)
        {
            // What somebody who came later was shown says nothing of who was there.
            var devices = await db.Notifications.AsNoTracking()
                .Where(n => n.EventId == warning.Id
                    && !db.Set<ConcernedWalkerRow>().Any(c => c.EventId == n.EventId && c.PersonId == n.PersonId && c.Unseen != UnseenStanding.None))
                .ToListAsync(cancellationToken);
            // Of one spot and side only the newest counts; it is looked at by itself.
            var overtaken = await db.AlertEvents.AnyAsync(
                e => e.SpotId == warning.SpotId && e.Side == warning.Side && e.Id > warning.Id && e.Notified, cancellationToken);
            if (overtaken || devices.Any(n => n.ShownAt is not null))
                warning.Unseen = UnseenStanding.Settled;
            else if (IsLate(warning.At))
                Tell(db, warning, devices);
        }

        var toldOfLater = await LookLaterAsync(db, heldBack, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        if (toldOfLater || watched.Any(w => w.Unseen == UnseenStanding.Unseen))
            outbox.Call();
    }

    /// <summary>Looks for those whom a warning concerns only since it was told.</summary>
    /// <returns>Whether the business is told of any.</returns>
    private async Task<bool> LookLaterAsync(RegistryDb db, IReadOnlyCollection<string> heldBack, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var watched = await db.ConcernedWalkers
            .Where(c => c.Unseen == UnseenStanding.Watched && !db.Set<AlertEventRow>().Any(e => e.Id == c.EventId && heldBack.Contains(e.SpotId)))
            .ToListAsync(cancellationToken);
        var told = false;
        foreach (var of in watched.GroupBy(c => c.EventId))
        {
            var warning = await db.AlertEvents.SingleAsync(e => e.Id == of.Key, cancellationToken);
            // Of one spot and side the newest says what stands.
            var newest = await db.AlertEvents.Where(e => e.SpotId == warning.SpotId && e.Side == warning.Side && e.Id > warning.Id && e.Notified)
                .OrderBy(e => e.Id).LastOrDefaultAsync(cancellationToken) ?? warning;
            var people = of.Select(c => c.PersonId).ToList();
            var devices = await db.Notifications.AsNoTracking()
                .Where(n => n.SpotId == warning.SpotId && n.Side == warning.Side && n.EventId >= warning.Id && people.Contains(n.PersonId))
                .ToListAsync(cancellationToken);
            // Who was not there when a newer one was told is not concerned any more, or is watched for anew.
            var there = newest == warning ? people : await db.ConcernedWalkers
                .Where(c => c.EventId == newest.Id && c.Unseen == UnseenStanding.None && people.Contains(c.PersonId)).Select(c => c.PersonId).ToListAsync(cancellationToken);
            var late = new List<ConcernedWalkerRow>();
            foreach (var walker in of)
            {
                if (!AlertDecision.Warns(newest.Because) || !there.Contains(walker.PersonId)
                    || devices.Any(n => n.PersonId == walker.PersonId && n.ShownAt is not null)
                    // Of a newer one that nobody was shown the business hears for all.
                    || (newest != warning && newest.Unseen == UnseenStanding.Unseen))
                    walker.Unseen = UnseenStanding.Settled;
                else if (IsLate(walker.Since) && (newest == warning || newest.Unseen != UnseenStanding.Watched))
                    late.Add(walker);
            }

            if (late.Count == 0)
                continue;
            told = true;
            TellLater(db, newest, late, devices.FindAll(n => late.Exists(c => c.PersonId == n.PersonId)), now);
        }

        return told;
    }

    private void TellLater(RegistryDb db, AlertEventRow warning, List<ConcernedWalkerRow> late, List<NotificationRow> devices, DateTimeOffset now)
    {
        var (phones, sent) = (
            devices.Select(n => n.SubscriptionId).Distinct().Count(),
            devices.Where(n => n.Standing == NotificationStanding.Sent).Select(n => n.SubscriptionId).Distinct().Count());
        logger.WarningUnseen(warning.SpotId, late.Count, phones, outbox.Channels.Count);
        foreach (var walker in late)
            walker.Unseen = UnseenStanding.Unseen;
        var notice = NoticeOf(warning.Id, SpotId.Parse(warning.SpotId), warning.Decision(), late.Count, phones, sent, cameLater: true);
        Put(db, warning.Id, late.Min(c => c.Id), notice, now, []);
    }

    private void Tell(RegistryDb db, AlertEventRow warning, List<NotificationRow> devices)
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
    public UnseenWarningNotice NoticeOf(int eventId, SpotId spot, AlertDecision decision, int walkers, int devices, int sent, bool cameLater = false)
    {
        var (name, zone) = catalogue.Find(spot) is { } known ? (known.Name, known.TimeZoneId) : (spot.Value, "Etc/UTC");
        // For who comes later it was decided a while ago.
        var text = cameLater ? AlertTexts.Dated(name, decision, zone, TemperatureUnit.Both) : AlertTexts.Whole(name, decision, zone, TemperatureUnit.Both);
        return new(eventId, spot.Value, name, text, decision.At, walkers, devices, sent, $"{address.Text}/spots/{spot}") { CameLater = cameLater };
    }

    /// <summary>Puts a notice into the outbox of each way; the caller saves.</summary>
    /// <param name="db">The registry.</param>
    /// <param name="warning">The warning, as written.</param>
    /// <param name="notice">What is told.</param>
    /// <param name="toldBy">Names of the ways that took it before it could be written.</param>
    public void Put(RegistryDb db, AlertEventRow warning, UnseenWarningNotice notice, IReadOnlyCollection<string> toldBy)
    {
        warning.Unseen = UnseenStanding.Unseen;
        Put(db, warning.Id, cameLater: 0, notice, time.GetUtcNow(), toldBy);
    }

    private void Put(RegistryDb db, int eventId, int cameLater, UnseenWarningNotice notice, DateTimeOffset now, IReadOnlyCollection<string> toldBy)
    {
        foreach (var channel in outbox.Channels)
        {
            var told = toldBy.Contains(channel.Name);
            db.BusinessNotices.Add(new BusinessNoticeRow
            {
                Id = Guid.CreateVersion7(now),
                EventId = eventId,
                CameLater = cameLater,
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
