using System.Collections.Concurrent;
using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications.WebPush;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Notifications;

/// <summary>Sends what waits in the outbox, again with growing pauses, until it is taken, too old, overtaken or refused.</summary>
/// <remarks>
/// <para>The outbox is a table, so what was decided before a crash is sent after it. Sending twice is possible, losing is not.</para>
/// <para>Each push service has a lane of its own, and a device gets one message at a time: an older one never arrives after a newer.</para>
/// <para>A push service that forbids a message may mean the device, or this server's clock, key or name. Where it takes what other
/// devices are sent, it is the device, which is forgotten after some messages; else nobody is forgotten, and the service is named as a fault.</para>
/// <para>What waits for a device about spots of one site goes out as one message; each spot keeps its own row, which says what became of it.</para>
/// </remarks>
internal sealed class NotificationOutbox(
    IDbContextFactory<RegistryDb> registry,
    PushSender sender,
    DeviceLocks turns,
    SiteMessages messages,
    PushRefusals refusals,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<NotificationOutbox> logger) : ServerBackgroundService
{
    private const int AtOncePerService = 32;
    private const int ForbiddenUntilDead = 3;
    private static readonly TimeSpan LongestSleep = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan UnrecordedSleep = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan StopPatience = TimeSpan.FromSeconds(2);

    private readonly WorkSignal _wake = new();
    private readonly Dictionary<string, PushLane> _lanes = [];
    private readonly Lock _lock = new();
    private readonly HashSet<int> _busyDevices = [];
    private readonly HashSet<int> _heldBackDevices = [];
    private readonly ConcurrentDictionary<Guid, Attempt> _unrecorded = [];
    private readonly ConcurrentDictionary<string, bool> _heldBackSpots = [];
    private readonly ClockSteps _clock = new(time);

    /// <summary>How far the clock has leapt ahead under what waits; zero once that is written.</summary>
    private TimeSpan _leapt;

    /// <summary>Says that something new waits.</summary>
    public void Call() => _wake.Call();

    /// <summary>Sends nothing more of a spot: there is newer news of it, which the registry does not have yet.</summary>
    public void HoldBack(SpotId spot) => _heldBackSpots[spot.Value] = true;

    /// <summary>Spots of which nothing is sent: what is told of them, and to whom, the registry does not have yet.</summary>
    public IReadOnlyCollection<string> HeldBack => [.. _heldBackSpots.Keys];

    /// <summary>Sends what is news of a spot again: the registry has all there is.</summary>
    public void LetGo(SpotId spot)
    {
        if (_heldBackSpots.TryRemove(spot.Value, out _))
            Call();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        // What is on its way when the server stops is given a moment: sent and not recorded, it would be sent again.
        using var sending = new CancellationTokenSource();
        while (!stoppingToken.IsCancellationRequested)
        {
            var sleep = LongestSleep;
            try
            {
                sleep = await PassAsync(sending.Token, stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                break;
            }
            catch (Exception e)
            {
                // The loop's edge: whatever it was, alerts must go on.
                logger.PassFailed(e);
            }

            await _wake.WaitAsync(sleep, time, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        sending.CancelAfter(StopPatience);
        await Task.WhenAll(_lanes.Values.Select(lane => lane.EndAsync()));
    }

    /// <summary>Hands what is due to its lanes.</summary>
    /// <returns>How long nothing more will be due.</returns>
    private async Task<TimeSpan> PassAsync(CancellationToken sending, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var now = time.GetUtcNow();
        _leapt += _clock.Look(LeaptMessages.Least);
        // A registry that takes nothing is no reason to tell nobody.
        var writes = await RecordLeftAsync(db, cancellationToken) && await TrySetAsideAsync(db, now, cancellationToken);
        await refusals.LookAsync(db, now, cancellationToken);
        var waiting = await (
            from n in News(db, now)
            join device in db.PushSubscriptions.Where(s => s.GoneAt == null) on n.SubscriptionId equals device.Id
            orderby n.Attempts > 0, n.CreatedAt, n.EventId
            select new { Message = new DueMessage(n.Id, n.SubscriptionId, device.Endpoint, n.Attempts, n.CreatedAt), n.NextAttemptAt, n.SpotId })
            .ToListAsync(cancellationToken);
        // What was tried and is not written yet would be sent again.
        foreach (var due in waiting.Where(w => IsDue(w.Message.CreatedAt, w.NextAttemptAt, now) && !_unrecorded.ContainsKey(w.Message.Id) && !_heldBackSpots.ContainsKey(w.SpotId)))
        {
            if (MayBegin(due.Message.SubscriptionId))
                LaneOf(due.Message, sending).Add(due.Message);
        }

        var next = waiting.Where(w => !IsDue(w.Message.CreatedAt, w.NextAttemptAt, now)).Select(w => w.NextAttemptAt).DefaultIfEmpty(DateTimeOffset.MaxValue).Min();
        var longest = writes ? LongestSleep : UnrecordedSleep;
        // By the clock as it is now: it went on while the registry was asked, and in a demo it may have leapt.
        var pause = next - time.GetUtcNow();
        return pause < TimeSpan.Zero ? TimeSpan.Zero : pause < longest ? pause : longest;
    }

    // What was put here by a clock that has been set back since does not wait for that clock's time.
    private bool IsDue(DateTimeOffset createdAt, DateTimeOffset nextAttemptAt, DateTimeOffset now) =>
        nextAttemptAt <= now || (createdAt > now && nextAttemptAt - now > options.Value.LongestRetry);

    private bool MayBegin(int device)
    {
        lock (_lock)
        {
            if (_busyDevices.Add(device))
                return true;
            _heldBackDevices.Add(device);
            return false;
        }
    }

    private void End(Attempt? attempt, bool isPart, int device)
    {
        bool isHeldBack;
        lock (_lock)
        {
            _busyDevices.Remove(device);
            isHeldBack = _heldBackDevices.Remove(device);
        }

        // Something else waits for this device, or a repeat has its time now.
        if (isHeldBack || isPart || attempt is not { Outcome: SendOutcome.Taken })
            Call();
    }

    private PushLane LaneOf(DueMessage message, CancellationToken sending)
    {
        var service = new Uri(message.Endpoint).Authority;
        if (!_lanes.TryGetValue(service, out var lane))
            _lanes[service] = lane = new PushLane(AtOncePerService, m => SendAsync(m, sending));
        return lane;
    }

    // What is too old is no news; of one spot, side and device only the newest counts. That a spell is over is no news after
    // anything newer of the spot and side, even where that did not go to this device or did not reach it.
    private static IQueryable<NotificationRow> News(RegistryDb db, DateTimeOffset now) =>
        // What its device has shown meanwhile is not sent again.
        Waiting(db).Where(n => n.ExpiresAt > now && n.ShownAt == null && !Overtaken(db).Any(old => old.Id == n.Id));

    private static IQueryable<NotificationRow> Waiting(RegistryDb db) =>
        db.Notifications.Where(n => n.Standing == NotificationStanding.Waiting);

    private static IQueryable<NotificationRow> Overtaken(RegistryDb db) => Waiting(db).Where(n => db.Set<NotificationRow>().Any(newer =>
        newer.SubscriptionId == n.SubscriptionId && newer.SpotId == n.SpotId && newer.Side == n.Side && newer.EventId > n.EventId
        && (newer.Standing == NotificationStanding.Waiting || newer.Standing == NotificationStanding.Sent))
        || (AllClears(db).Any(e => e.Id == n.EventId)
            && db.Set<AlertEventRow>().Any(newer => newer.SpotId == n.SpotId && newer.Side == n.Side && newer.Id > n.EventId && newer.Notified)));

    private static IQueryable<AlertEventRow> AllClears(RegistryDb db) => db.Set<AlertEventRow>().Where(e => AlertDecision.AllClears.Contains(e.Because));

    private async Task<bool> TrySetAsideAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        try
        {
            await FollowClockAsync(db, now, cancellationToken);
            await SetAsideAsync(db, now, cancellationToken);
            return true;
        }
        catch (DbException e) when (DatabaseFaults.TakesNothing(e))
        {
            logger.NothingSetAside(e.Message);
            return false;
        }
    }

    // Set right after it was behind, or awake from a machine's sleep. A warning that comes late harms nobody; that a spell is over
    // may no longer hold, and nobody looked meanwhile. What a clock set back has dated is known by its dates.
    private async Task FollowClockAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (_leapt < TimeSpan.Zero)
            await LeaptMessages.RepeatNowAsync(Waiting(db), now, cancellationToken);
        if (_leapt <= TimeSpan.Zero)
        {
            _leapt = TimeSpan.Zero;
            return;
        }

        // What the watch has put here since the leap is dated later.
        var before = now - _leapt;
        var waiting = Waiting(db).Where(n => n.CreatedAt <= before && n.ExpiresAt > before);
        await waiting.Where(n => AllClears(db).Any(e => e.Id == n.EventId)).ExecuteUpdateAsync(
            set => set.SetProperty(n => n.Standing, NotificationStanding.Expired)
                .SetProperty(n => n.LastFault, "the clock leapt ahead; whether the spell is over still is not known"),
            cancellationToken);
        var isOver = db.Set<AlertEventRow>().Where(e => e.To == AlertState.Clear);
        await LeaptMessages.MoveAsync(
            db, waiting.Where(n => !isOver.Any(e => e.SpotId == n.SpotId && e.Side == n.Side && e.Id > n.EventId)), _leapt, cancellationToken);
        logger.WaitingMoved(_leapt);
        _leapt = TimeSpan.Zero;
    }

    private static async Task SetAsideAsync(RegistryDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await Waiting(db).Where(n => n.ShownAt != null)
            .ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Sent), cancellationToken);
        await Waiting(db).Where(n => n.ExpiresAt <= now)
            .ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Expired), cancellationToken);
        // Whether the spell is over still nobody knows, where the clock was set back since by nobody knows how much time.
        var ahead = now + LeaptMessages.Least;
        await Waiting(db).Where(n => n.CreatedAt > ahead && AllClears(db).Any(e => e.Id == n.EventId)).ExecuteUpdateAsync(
            set => set.SetProperty(n => n.Standing, NotificationStanding.Expired)
                .SetProperty(n => n.LastFault, "the clock was set back; whether the spell is over still is not known"),
            cancellationToken);
        await Overtaken(db)
            .ExecuteUpdateAsync(set => set.SetProperty(n => n.Standing, NotificationStanding.Overtaken), cancellationToken);
        await Waiting(db).Where(n => !db.Set<PushSubscriptionRow>().Any(device => device.Id == n.SubscriptionId && device.GoneAt == null))
            .ExecuteUpdateAsync(
                set => set.SetProperty(n => n.Standing, NotificationStanding.Failed)
                    .SetProperty(n => n.LastFault, "the device was forgotten before"),
                cancellationToken);
    }

    private async Task SendAsync(DueMessage due, CancellationToken sending)
    {
        Attempt? attempt = null;
        var isPart = false;
        try
        {
            using var turn = await turns.TakeAsync(due.SubscriptionId);
            if (await StillDueAsync(due, sending) is not var (notifications, device))
                return;
            var startedAt = time.GetUtcNow();
            var (outcome, told) = await OutcomeAsync(device, notifications, sending);
            isPart = told.Count < notifications.Count;
            // Of those that are to go with the next message, all that holds this one up holds, too.
            attempt = new Attempt(outcome is SendOutcome.Taken ? told : notifications, device, outcome, startedAt, time.GetUtcNow());
            await RecordOrKeepAsync(attempt);
        }
        catch (OperationCanceledException) when (sending.IsCancellationRequested)
        {
            // It waits for the next start.
        }
        catch (DbException e)
        {
            logger.AttemptFailed(due.Id, e);
        }
        finally
        {
            End(attempt, isPart, due.SubscriptionId);
        }
    }

    /// <summary>The message, if it still has to be sent, with what else waits for its device about its site.</summary>
    private async Task<(IReadOnlyList<NotificationRow> Notifications, PushSubscriptionRow Device)?> StillDueAsync(DueMessage due, CancellationToken cancellationToken)
    {
        // Its outcome may have come, and not have been written, after it was found to be due.
        if (_unrecorded.ContainsKey(due.Id))
            return null;
        // Before the registry is asked: a spot let go since then has its newer news there.
        var heldBack = _heldBackSpots.Keys;
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var notification = await News(db, now).AsNoTracking()
            .SingleOrDefaultAsync(n => n.Id == due.Id, cancellationToken);
        if (notification is null || !IsDue(notification.CreatedAt, notification.NextAttemptAt, now))
            return null;
        var device = await db.PushSubscriptions.AsNoTracking().SingleOrDefaultAsync(s => s.Id == due.SubscriptionId && s.GoneAt == null, cancellationToken);
        if (device is null || heldBack.Contains(notification.SpotId))
            return null;
        var site = messages.SpotsBeside(notification.SpotId);
        List<NotificationRow> others = site.Count == 0 ? [] : await News(db, now).AsNoTracking()
            .Where(n => n.Id != due.Id && n.SubscriptionId == device.Id && site.Contains(n.SpotId)).ToListAsync(cancellationToken);
        return ([.. others.Where(n => !heldBack.Contains(n.SpotId) && !_unrecorded.ContainsKey(n.Id)).Append(notification)], device);
    }

    private async Task<(SendOutcome Outcome, IReadOnlyList<NotificationRow> Told)> OutcomeAsync(
        PushSubscriptionRow device, IReadOnlyList<NotificationRow> notifications, CancellationToken cancellationToken)
    {
        try
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            var (message, told) = await messages.OfAsync(db, notifications, cancellationToken);
            return (await sender.SendAsync(device, message, told.Max(n => n.ExpiresAt), cancellationToken), told);
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            // The lane's edge: what one device provokes must not end the lane of all.
            logger.AttemptFailed(notifications[0].Id, e);
            return (new SendOutcome.TryLater($"the server failed to send it: {e.Message}", null), notifications);
        }
    }

    private async Task RecordOrKeepAsync(Attempt attempt)
    {
        try
        {
            await using var db = await registry.CreateDbContextAsync(CancellationToken.None);
            await RecordAsync(db, attempt, CancellationToken.None);
        }
        catch (DbException e)
        {
            logger.OutcomeUnwritten(attempt.Notifications[0].Id, e.Message);
            foreach (var notification in attempt.Notifications)
                _unrecorded[notification.Id] = attempt;
            Call();
        }
    }

    /// <summary>Writes the outcomes that the registry did not take when they came.</summary>
    /// <returns>Whether none is left.</returns>
    private async Task<bool> RecordLeftAsync(RegistryDb db, CancellationToken cancellationToken)
    {
        foreach (var attempt in _unrecorded.Values.Distinct().ToList())
        {
            try
            {
                await RecordAsync(db, attempt, cancellationToken);
            }
            catch (DbException e)
            {
                logger.OutcomeUnwritten(attempt.Notifications[0].Id, e.Message);
                return false;
            }

            foreach (var notification in attempt.Notifications)
                _unrecorded.TryRemove(notification.Id, out _);
        }

        return true;
    }

    private async Task RecordAsync(RegistryDb db, Attempt attempt, CancellationToken cancellationToken)
    {
        var (notifications, device, outcome, startedAt, endedAt) = attempt;
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        foreach (var notification in notifications)
            await RecordAsync(db, notification, outcome, endedAt, cancellationToken);
        switch (outcome)
        {
            case SendOutcome.Taken when device is { ForbiddenInARow: > 0 } or { ForbiddenSince: not null }:
                await Of(db, device).ExecuteUpdateAsync(
                    set => set.SetProperty(s => s.ForbiddenInARow, 0).SetProperty(s => s.ForbiddenSince, (DateTimeOffset?)null), cancellationToken);
                break;
            case SendOutcome.Gone:
                await GiveUpAsync(db, device, endedAt, cancellationToken);
                break;
            case SendOutcome.Forbidden:
                // Messages count, not attempts: within a minute a service may be mended.
                var (inARow, since) = (device.ForbiddenInARow + (notifications.Any(n => n.Attempts == 0) ? 1 : 0), device.ForbiddenSince ?? startedAt);
                await Of(db, device).ExecuteUpdateAsync(
                    set => set.SetProperty(s => s.ForbiddenInARow, inARow).SetProperty(s => s.ForbiddenSince, since), cancellationToken);
                if (inARow >= ForbiddenUntilDead && await PushRefusals.OthersAreTakenAsync(db, device, since, startedAt, cancellationToken))
                    await GiveUpAsync(db, device, endedAt, cancellationToken);
                break;
        }

        await together.CommitAsync(cancellationToken);
    }

    private async Task RecordAsync(RegistryDb db, NotificationRow notification, SendOutcome outcome, DateTimeOffset endedAt, CancellationToken cancellationToken)
    {
        switch (outcome)
        {
            case SendOutcome.Taken:
                await SettleAsync(db, notification, NotificationStanding.Sent, "", endedAt, cancellationToken);
                break;
            case SendOutcome.TryLater later:
                await PutOffAsync(db, notification, later.Detail, later.After, endedAt, cancellationToken);
                break;
            case SendOutcome.Forbidden forbidden:
                await PutOffAsync(db, notification, forbidden.Detail, null, endedAt, cancellationToken);
                break;
            case SendOutcome.Gone gone:
                await FailAsync(db, notification, gone.Detail, cancellationToken);
                break;
            case SendOutcome.Refused refused:
                await FailAsync(db, notification, refused.Detail, cancellationToken);
                break;
        }
    }

    private async Task PutOffAsync(
        RegistryDb db, NotificationRow notification, string detail, TimeSpan? asked, DateTimeOffset endedAt, CancellationToken cancellationToken)
    {
        var next = endedAt + options.Value.Pause(notification.Attempts + 1, asked);
        await Waiting(db, notification).ExecuteUpdateAsync(
            set => set.SetProperty(n => n.Attempts, n => n.Attempts + 1)
                .SetProperty(n => n.LastFault, detail)
                .SetProperty(n => n.NextAttemptAt, next),
            cancellationToken);
        // Not otherwise: its times may have been moved while it was on its way.
        if (notification.CreatedAt > endedAt)
        {
            var expires = endedAt + options.Value.TimeToLive;
            await Waiting(db, notification).ExecuteUpdateAsync(
                set => set.SetProperty(n => n.CreatedAt, endedAt).SetProperty(n => n.ExpiresAt, expires), cancellationToken);
        }

        logger.WillTryAgain(notification.Id, notification.SpotId, detail, next);
    }

    private async Task FailAsync(RegistryDb db, NotificationRow notification, string detail, CancellationToken cancellationToken)
    {
        await SettleAsync(db, notification, NotificationStanding.Failed, detail, null, cancellationToken);
        logger.NotSent(notification.Id, notification.SpotId, detail);
    }

    // Its row stays: walker and business are told until the phone has another address, which follows what this one did.
    private async Task GiveUpAsync(RegistryDb db, PushSubscriptionRow device, DateTimeOffset at, CancellationToken cancellationToken)
    {
        if (await Of(db, device).Where(s => s.GoneAt == null).ExecuteUpdateAsync(set => set.SetProperty(s => s.GoneAt, at), cancellationToken) > 0)
            logger.DeviceGone(device.Id, device.PersonId);
    }

    private static async Task SettleAsync(
        RegistryDb db, NotificationRow notification, NotificationStanding standing, string fault, DateTimeOffset? sentAt, CancellationToken cancellationToken) =>
        await Waiting(db, notification).ExecuteUpdateAsync(
            set => set.SetProperty(n => n.Attempts, n => n.Attempts + 1)
                .SetProperty(n => n.Standing, standing)
                .SetProperty(n => n.LastFault, fault)
                .SetProperty(n => n.SentAt, sentAt),
            cancellationToken);

    // What was overtaken or removed while it was on its way stays so.
    private static IQueryable<NotificationRow> Waiting(RegistryDb db, NotificationRow notification) =>
        Waiting(db).Where(n => n.Id == notification.Id);

    private static IQueryable<PushSubscriptionRow> Of(RegistryDb db, PushSubscriptionRow device) =>
        db.PushSubscriptions.Where(s => s.Id == device.Id);

    private sealed record Attempt(
        IReadOnlyList<NotificationRow> Notifications, PushSubscriptionRow Device, SendOutcome Outcome, DateTimeOffset StartedAt, DateTimeOffset EndedAt);
}
