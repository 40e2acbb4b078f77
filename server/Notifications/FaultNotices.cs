using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications;

/// <summary>Tells the business once of each fault that lasts, and once when it has ended.</summary>
/// <remarks>
/// What was told stands in the registry, so that a restart repeats nothing. Where the registry itself takes nothing (a full disk is
/// such a fault) or hangs, it is told from memory: once again after a restart is better than never.
/// </remarks>
internal sealed class FaultNotices(
    ServiceFaults faults,
    IDbContextFactory<RegistryDb> registry,
    BusinessOutbox outbox,
    PublicAddress address,
    IOptions<NotificationOptions> options,
    TimeProvider time,
    ILogger<FaultNotices> logger) : ServerBackgroundService
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(5);

    /// <summary>How long a notice of a fault is repeated.</summary>
    private static readonly TimeSpan Matters = TimeSpan.FromDays(7);

    /// <summary>So long after it is known what was told before a restart, it may not have been found again.</summary>
    private static readonly TimeSpan FoundAgain = TimeSpan.FromMinutes(10);

    /// <summary>Longer no fault waits for the registry, by the time of the machine.</summary>
    private static readonly TimeSpan LongestWrite = TimeSpan.FromSeconds(5);

    private readonly ConcurrentDictionary<string, Known> _known = new(StringComparer.Ordinal);
    private Task? _writing;
    private long? _loadedAt;
    private bool _refused;

    protected override Task RunAsync(CancellationToken stoppingToken) => RepeatAsync(Period, time, PassAsync, logger.FaultPassFailed, stoppingToken);

    private async Task PassAsync(CancellationToken cancellationToken)
    {
        var now = time.GetTimestamp();
        var standing = faults.Standing.ToDictionary(fault => fault.Key, StringComparer.Ordinal);
        foreach (var fault in standing.Values)
        {
            var known = _known.TryGetValue(fault.Key, out var before) ? before : _known[fault.Key] = new Known(now);
            (known.Fault, known.AwaySince) = (fault, null);
        }

        foreach (var (key, known) in _known)
        {
            if (!standing.ContainsKey(key))
                known.AwaySince ??= now;
        }

        try
        {
            // One that hangs is waited for again, and never run beside itself. The registry may answer on the calling thread.
            if (_writing is not { IsCompleted: false })
                _writing = Task.Run(() => WriteAsync(now, cancellationToken), cancellationToken);
            await _writing.WaitAsync(LongestWrite, TimeProvider.System, cancellationToken);
            _refused = false;
        }
        catch (Exception e) when (e is DbException or DbUpdateException or TimeoutException)
        {
            if (!_refused)
                logger.FaultsUnwritten(e.GetBaseException().Message);
            _refused = true;
            await TellUnwrittenAsync(cancellationToken);
        }
    }

    private async Task WriteAsync(long now, CancellationToken cancellationToken)
    {
        await LoadAsync(now, cancellationToken);
        foreach (var (key, known) in _known.ToArray())
            await LookAsync(key, known, cancellationToken);
    }

    /// <summary>Takes over what an earlier run has told and not ended.</summary>
    private async Task LoadAsync(long now, CancellationToken cancellationToken)
    {
        if (_loadedAt is not null)
            return;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        foreach (var row in await db.Faults.AsNoTracking().Where(f => f.EndedAt == null).ToListAsync(cancellationToken))
        {
            if (!_known.TryGetValue(row.Key, out var known))
            {
                known = _known[row.Key] = new Known(now) { AwaySince = now };
                faults.Remember(row.Key, row.Words);
            }

            known.RowId = row.Id;
        }

        _loadedAt = now;
    }

    private async Task LookAsync(string key, Known known, CancellationToken cancellationToken)
    {
        if (known.RowId is null)
        {
            // Told from memory, it is written down even when it has ended meanwhile, so that its end is told too.
            if (known.ToldBy.Count > 0 || (known.AwaySince is null && Lasted(known.Since)))
                await WriteAsync(known, cancellationToken);
            else if (known.AwaySince is not null)
                _known.TryRemove(key, out _);
        }
        else if (known.AwaySince is { } away && Lasted(away) && (known.Fault is not null || (_loadedAt is { } loaded && time.GetElapsedTime(loaded) >= FoundAgain)))
        {
            await WriteEndAsync(known.RowId.Value, cancellationToken);
            _known.TryRemove(key, out _);
        }
    }

    private async Task WriteAsync(Known known, CancellationToken cancellationToken)
    {
        var fault = known.Fault!;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var row = new FaultRow { Key = fault.Key, Words = fault.Words, Since = fault.Since };
        db.Faults.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        // Written while it is told from memory, it would be told again; the next look writes it.
        if (known.IsBeingTold)
            return;
        Put(db, row, known.ToldBy);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        known.RowId = row.Id;
        logger.FaultLasts(fault.Key, fault.Words);
        outbox.Call();
    }

    private async Task WriteEndAsync(int rowId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var row = await db.Faults.SingleAsync(f => f.Id == rowId, cancellationToken);
        row.EndedAt = time.GetUtcNow();
        Put(db, row, ImmutableHashSet<string>.Empty);
        await db.SaveChangesAsync(cancellationToken);
        // One that could not be sent while it stood is told by its end alone.
        await db.BusinessNotices.Where(n => n.FaultId == rowId && !n.SaysEnded && n.Standing == NotificationStanding.Waiting)
            .ExecuteUpdateAsync(n => n.SetProperty(r => r.Standing, NotificationStanding.Overtaken), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        logger.FaultEnded(row.Key);
        outbox.Call();
    }

    private void Put(RegistryDb db, FaultRow row, ImmutableHashSet<string> toldBy)
    {
        var now = time.GetUtcNow();
        var notice = new FaultNotice(row.Key, row.Words, row.Since, row.EndedAt, $"{address.Text}/business");
        foreach (var channel in outbox.Channels)
        {
            var told = toldBy.Contains(channel.Name);
            db.BusinessNotices.Add(new BusinessNoticeRow
            {
                Id = Guid.CreateVersion7(now),
                FaultId = row.Id,
                SaysEnded = row.EndedAt is not null,
                Channel = channel.Name,
                Payload = notice.ToJson(),
                CreatedAt = now,
                ExpiresAt = now + Matters,
                NextAttemptAt = now,
                Standing = told ? NotificationStanding.Sent : NotificationStanding.Waiting,
                SentAt = told ? now : null,
            });
        }
    }

    private async Task TellUnwrittenAsync(CancellationToken cancellationToken)
    {
        foreach (var known in _known.Values.Where(k => k.RowId is null && k.AwaySince is null && Lasted(k.Since)))
        {
            if (known.NextUnwrittenAt is { } next && time.GetElapsedTime(next.At) < next.Pause)
                continue;
            var fault = known.Fault!;
            var notice = new FaultNotice(fault.Key, fault.Words, fault.Since, null, $"{address.Text}/business");
            var left = outbox.Channels.Where(w => !known.ToldBy.Contains(w.Name)).ToList();
            known.IsBeingTold = true;
            try
            {
                var outcomes = await Task.WhenAll(left.Select(w => w.SendAsync(known.Id, notice, cancellationToken)));
                foreach (var (channel, outcome) in left.Zip(outcomes))
                {
                    if (outcome is SendOutcome.Taken)
                        known.ToldBy = known.ToldBy.Add(channel.Name);
                    logger.FaultToldUnwritten(channel.Name, fault.Key, outcome);
                }
            }
            finally
            {
                known.IsBeingTold = false;
            }

            known.NextUnwrittenAt = (time.GetTimestamp(), options.Value.Pause(++known.Unwritten, null));
        }
    }

    // By elapsed time: a fault of the clock must not hide itself.
    private bool Lasted(long since) => time.GetElapsedTime(since) >= options.Value.Business.FaultAfter;

    /// <summary>What is known of one fault.</summary>
    private sealed class Known(long since)
    {
        private volatile bool _isBeingTold;

        /// <summary>Names its notice while it is told from memory.</summary>
        public Guid Id { get; } = Guid.NewGuid();

        /// <summary>Timestamp of the first look that found it.</summary>
        public long Since { get; } = since;

        /// <summary>Timestamp of the first look that found it gone; <c>null</c> while it stands.</summary>
        public long? AwaySince { get; set; }

        /// <summary>As it was raised last; <c>null</c> for one of an earlier run that was not found again.</summary>
        public ServiceFault? Fault { get; set; }

        /// <summary>Its row, once it is written down.</summary>
        public int? RowId { get; set; }

        /// <summary>Ways that took it while the registry took nothing.</summary>
        public ImmutableHashSet<string> ToldBy { get; set; } = ImmutableHashSet.Create<string>(StringComparer.Ordinal);

        /// <summary>Whether somebody is being told of it from memory just now.</summary>
        public bool IsBeingTold { get => _isBeingTold; set => _isBeingTold = value; }

        public int Unwritten { get; set; }

        public (long At, TimeSpan Pause)? NextUnwrittenAt { get; set; }
    }
}
