using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Notifications;

/// <summary>Sends what waits for the business, each way by itself, so that a mail server that hangs does not hold the webhook.</summary>
/// <remarks>A way that fails is a fault of the service as well; it is told by the other, and by itself when it works again.</remarks>
internal sealed class BusinessOutbox(
    IDbContextFactory<RegistryDb> registry,
    IEnumerable<IBusinessWay> ways,
    ServiceFaults faults,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<BusinessOutbox> logger) : Worker
{
    private const int FailuresUntilFault = 3;
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(10);

    private readonly List<Lane> _lanes = [.. ways.Where(w => w.IsSet).Select(w => new Lane(w))];

    /// <summary>The ways that are set.</summary>
    public IReadOnlyList<IBusinessWay> Ways => [.. _lanes.Select(lane => lane.Way)];

    /// <summary>Says that something new waits.</summary>
    public void Call()
    {
        foreach (var lane in _lanes)
            lane.Wake.Call();
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
                logger.BusinessPassFailed(lane.Way.Name, e);
            }

            await lane.Wake.WaitAsync(Period, time, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private async Task SendDueAsync(Lane lane, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        // What was never tried comes before what failed already.
        var due = await db.BusinessNotices
            .Where(n => n.Way == lane.Way.Name && n.Standing == NotificationStanding.Waiting && n.NextAttemptAt <= now)
            .OrderBy(n => n.Attempts > 0).ThenBy(n => n.CreatedAt).ToListAsync(cancellationToken);
        foreach (var notice in due)
        {
            if (notice.ExpiresAt <= now)
            {
                notice.Standing = NotificationStanding.Expired;
                var about = About(notice);
                logger.NoticeExpired(notice.Way, about, notice.Trouble);
            }
            else
            {
                Record(lane, notice, await lane.Way.SendAsync(notice.Id, BusinessNotice.Of(notice), cancellationToken));
            }

            // After each one: what was sent must not be sent again after a crash.
            await db.SaveChangesAsync(CancellationToken.None);
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
                (notice.Standing, notice.SentAt, notice.Trouble) = (NotificationStanding.Sent, now, "");
                logger.BusinessTold(notice.Way, about);
                lane.Failures = 0;
                faults.End(lane.FaultKey);
                return;
            case SendOutcome.TryLater later:
                notice.Trouble = later.Detail;
                notice.NextAttemptAt = now + options.Value.Pause(notice.Attempts, later.After);
                logger.NoticeWaits(notice.Way, about, later.Detail, notice.NextAttemptAt);
                lane.Failures++;
                break;
            case SendOutcome.Refused refused:
                (notice.Standing, notice.Trouble) = (NotificationStanding.Failed, refused.Detail);
                logger.NoticeRefused(notice.Way, about, refused.Detail);
                lane.Failures = FailuresUntilFault;
                break;
            default:
                throw new InvalidOperationException($"{notice.Way} ended in {outcome}, which only a device's push service does");
        }

        if (lane.Failures >= FailuresUntilFault)
            faults.Raise(lane.FaultKey, $"the business cannot be told by {lane.Way.Name}: {notice.Trouble}; look at Notifications:Business and try the command tell-business");
    }

    private static string About(BusinessNoticeRow notice) => notice switch
    {
        { EventId: { } warning } => $"warning {warning}",
        { SaysEnded: true } => $"the end of fault {notice.FaultId}",
        _ => $"fault {notice.FaultId}",
    };

    private sealed class Lane(IBusinessWay way)
    {
        public IBusinessWay Way { get; } = way;

        public string FaultKey { get; } = $"notifications.{way.Name}";

        public Wake Wake { get; } = new();

        /// <summary>Attempts in a row that failed.</summary>
        public int Failures { get; set; }
    }
}
