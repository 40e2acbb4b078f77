using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications;

/// <summary>Sends what waits for the business, each way by itself, so that a mail server that hangs does not hold the webhook.</summary>
/// <remarks>A way that fails is a fault of the service as well; it is told by the other, and by itself when it works again.</remarks>
internal sealed class BusinessOutbox(
    IDbContextFactory<RegistryDb> registry,
    IEnumerable<IBusinessChannel> channels,
    ServiceFaults faults,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<BusinessOutbox> logger) : ServerBackgroundService
{
    private const int FailuresUntilFault = 3;
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(10);

    private readonly List<Lane> _lanes = [.. channels.Where(w => w.IsSet).Select(w => new Lane(w, new ClockSteps(time)))];

    /// <summary>The ways that are set.</summary>
    public IReadOnlyList<IBusinessChannel> Channels => [.. _lanes.Select(lane => lane.Channel)];

    /// <summary>Says that something new waits.</summary>
    public void Call()
    {
        foreach (var lane in _lanes)
            lane.WorkSignal.Call();
    }

    protected override Task RunAsync(CancellationToken stoppingToken) =>
        Task.WhenAll(_lanes.Select(lane => RunAsync(lane, stoppingToken)));

    private async Task RunAsync(Lane lane, CancellationToken stoppingToken)
    {
        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                await SendDueAsync(lane, stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                break;
            }
            catch (Exception e)
            {
                // The loop's edge: whatever it was, the next notice must be sent.
                logger.BusinessPassFailed(lane.Channel.Name, e);
            }

            await lane.WorkSignal.WaitAsync(Period, time, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private async Task SendDueAsync(Lane lane, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var waiting = db.BusinessNotices.Where(n => n.Channel == lane.Channel.Name && n.Standing == NotificationStanding.Waiting);
        lane.Leapt += lane.Clock.Look(LeaptMessages.Least);
        if (lane.Leapt > TimeSpan.Zero)
        {
            var before = now - lane.Leapt;
            await LeaptMessages.MoveAsync(db, waiting.Where(n => n.CreatedAt <= before && n.ExpiresAt > before), lane.Leapt, cancellationToken);
        }
        else if (lane.Leapt < TimeSpan.Zero)
        {
            await LeaptMessages.RepeatNowAsync(waiting, now, cancellationToken);
        }

        lane.Leapt = TimeSpan.Zero;
        // What was put here by a clock that has been set back since does not wait for that clock's time.
        var longestWait = now + options.Value.LongestRetry;
        // What was never tried comes before what failed already.
        var due = await waiting
            .Where(n => n.NextAttemptAt <= now || (n.CreatedAt > now && n.NextAttemptAt > longestWait))
            .OrderBy(n => n.Attempts > 0).ThenBy(n => n.CreatedAt).ToListAsync(cancellationToken);
        foreach (var notice in due)
        {
            if (notice.ExpiresAt <= now)
            {
                notice.Standing = NotificationStanding.Expired;
                var about = About(notice);
                logger.NoticeExpired(notice.Channel, about, notice.LastFault);
            }
            else
            {
                if (notice.CreatedAt > now)
                    db.Entry(notice).Property(n => n.CreatedAt).CurrentValue = now;
                Record(lane, notice, await lane.Channel.SendAsync(notice.Id, BusinessNotice.Of(notice), cancellationToken));
            }

            // After each one: what was sent must not be sent again after a crash.
            try
            {
                await db.SaveChangesAsync(CancellationToken.None);
            }
            catch (DbUpdateConcurrencyException)
            {
                // Cleared away while it was on its way, as its fault was over or it was old: those after it go all the same.
                db.Entry(notice).State = EntityState.Detached;
            }
        }
    }

    private void Record(Lane lane, BusinessNoticeRow notice, SendOutcome outcome)
    {
        var now = time.GetUtcNow();
        var about = About(notice);
        notice.Attempts++;
        switch (outcome)
        {
            case SendOutcome.Taken:
                (notice.Standing, notice.SentAt, notice.LastFault) = (NotificationStanding.Sent, now, "");
                logger.BusinessTold(notice.Channel, about);
                lane.Failures = 0;
                faults.End(lane.FaultKey);
                return;
            case SendOutcome.TryLater later:
                notice.LastFault = later.Detail;
                notice.NextAttemptAt = now + options.Value.Pause(notice.Attempts, later.After);
                logger.NoticeWaits(notice.Channel, about, later.Detail, notice.NextAttemptAt);
                lane.Failures++;
                break;
            case SendOutcome.Refused refused:
                (notice.Standing, notice.LastFault) = (NotificationStanding.Failed, refused.Detail);
                logger.NoticeRefused(notice.Channel, about, refused.Detail);
                lane.Failures = FailuresUntilFault;
                break;
            default:
                throw new InvalidOperationException($"{notice.Channel} ended in {outcome}, which only a device's push service does");
        }

        if (lane.Failures >= FailuresUntilFault)
            faults.Raise(lane.FaultKey, $"the business cannot be told by {lane.Channel.Name}: {notice.LastFault}; look at Notifications:Business and try the command tell-business");
    }

    private static string About(BusinessNoticeRow notice) => notice switch
    {
        { EventId: { } warning } => $"warning {warning}",
        { SaysEnded: true } => $"the end of fault {notice.FaultId}",
        _ => $"fault {notice.FaultId}",
    };

    private sealed class Lane(IBusinessChannel channel, ClockSteps clock)
    {
        public ClockSteps Clock { get; } = clock;

        /// <summary>How far the clock has leapt under what waits; zero once that is written.</summary>
        public TimeSpan Leapt { get; set; }

        public IBusinessChannel Channel { get; } = channel;

        public string FaultKey { get; } = $"notifications.{channel.Name}";

        public WorkSignal WorkSignal { get; } = new();

        /// <summary>Attempts in a row that failed.</summary>
        public int Failures { get; set; }
    }
}
