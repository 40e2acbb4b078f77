using System.Collections.Concurrent;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Caching.Memory;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Database;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Fitting;

/// <summary>Every fit that was made, never changed after; and the one in use for each spot, in memory.</summary>
internal sealed class FitStore(IDbContextFactory<RegistryDb> registry, TimeProvider time, ILogger<FitStore> logger) : IDisposable
{
    private const int ReadAtOnce = 100;

    private readonly ConcurrentDictionary<SpotId, OffsetFit> _inUse = [];
    private readonly SemaphoreSlim _writing = new(1);

    // Days that are over are looked at by the fits of their time; reading one takes longer than estimating the day by it.
    private readonly MemoryCache _read = new(new MemoryCacheOptions { SizeLimit = 200 });

    public OffsetFit? InUse(SpotId spot) => _inUse.GetValueOrDefault(spot);

    /// <summary>Takes over what the registry says is in use; another process may have fitted.</summary>
    public async Task RefreshAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await ReadOtherFormatsAsync(db, cancellationToken);
        var rows = await db.Fits.AsNoTracking().Where(f => f.Standing == FitStanding.InUse)
            .Select(f => new { f.SpotId, f.Id }).ToListAsync(cancellationToken);
        foreach (var gone in _inUse.Keys.ExceptBy(rows.Select(row => row.SpotId), spot => spot.Value).ToList())
            _inUse.TryRemove(gone, out _);
        foreach (var row in rows)
        {
            var spot = SpotId.Parse(row.SpotId);
            if (InUse(spot)?.Id == row.Id)
                continue;
            var json = await db.Fits.Where(f => f.Id == row.Id).Select(f => f.Json).SingleAsync(cancellationToken);
            if (FitJson.Read(json) is (Fit: { } fit, _))
            {
                _inUse[spot] = fit;
                continue;
            }

            _inUse.TryRemove(spot, out _);
            await RetireAsync(db, row.Id, json, cancellationToken);
        }
    }

    /// <summary>Writes a new fit down; one in use replaces the one before it.</summary>
    public async Task AddAsync(OffsetFit fit, FitStanding standing, string reason, CancellationToken cancellationToken)
    {
        // One writes at a time: SQLite would have the others look again only after a pause.
        await _writing.WaitAsync(cancellationToken);
        try
        {
            await WriteAsync(fit, standing, reason, cancellationToken);
        }
        finally
        {
            _writing.Release();
        }
    }

    public void Dispose()
    {
        _writing.Dispose();
        _read.Dispose();
    }

    /// <summary>Since when the spot has its present ground and place; <c>null</c> when never changed.</summary>
    public async Task<DateTimeOffset?> GroundSinceAsync(SpotId spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.Set<SpotRow>().Where(s => s.Id == spot.Value).Select(s => s.GroundSince).SingleOrDefaultAsync(cancellationToken) is { } since)
            return since;
        // An earlier edition noted it only with the fits that it retired.
        return await db.Fits.Where(f => f.SpotId == spot.Value && f.Standing == FitStanding.Retired && f.Reason == FitRow.OtherGround)
            .MaxAsync(f => (DateTimeOffset?)f.DecidedAt, cancellationToken);
    }

    /// <summary>Whether a fit of that name is there already.</summary>
    public async Task<bool> HasAsync(string id, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Fits.AnyAsync(f => f.Id == id, cancellationToken);
    }

    /// <summary>When some spots were last fitted on readings or found to have none, up to a moment; those that never were are left out.</summary>
    public async Task<IReadOnlyDictionary<SpotId, DateTimeOffset>> LastFittedAsync(IEnumerable<SpotId> spots, DateTimeOffset until, CancellationToken cancellationToken)
    {
        var ids = spots.Select(s => s.Value).ToList();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var last = await db.Set<SpotRow>().Where(s => ids.Contains(s.Id))
            .Select(s => new { s.Id, At = db.Set<FitRow>().Where(f => f.SpotId == s.Id && f.FittedAt <= until).Max(f => (DateTimeOffset?)f.FittedAt) })
            .Where(s => s.At != null).ToListAsync(cancellationToken);
        return last.ToDictionary(s => SpotId.Parse(s.Id), s => s.At!.Value);
    }

    /// <summary>The newest fit of a spot that was in use and is not later than a moment; else the oldest there is; <c>null</c> without any.</summary>
    public async Task<OffsetFit?> AtAsync(SpotId spot, DateTimeOffset moment, CancellationToken cancellationToken)
    {
        if (InUse(spot) is { } current && current.FittedAt <= moment)
            return current;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var used = Used(db, spot);
        return await FirstReadableAsync(db, used.Where(f => f.FittedAt <= moment).OrderByDescending(f => f.FittedAt), cancellationToken)
            ?? await FirstReadableAsync(db, used.OrderBy(f => f.FittedAt), cancellationToken);
    }

    /// <summary>For each moment the fit as <see cref="AtAsync(SpotId, DateTimeOffset, CancellationToken)"/> finds it, with one question for which and one for what they say.</summary>
    /// <returns>In the order of the moments; <c>null</c> where there is none that can be read.</returns>
    public async Task<IReadOnlyList<OffsetFit?>> AtAsync(SpotId spot, IReadOnlyList<DateTimeOffset> moments, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var used = await Used(db, spot).Where(f => f.SampleCount != null)
            .OrderBy(f => f.FittedAt).Select(f => new { f.Id, f.FittedAt }).ToListAsync(cancellationToken);
        if (used.Count == 0)
            return [.. moments.Select(_ => (OffsetFit?)null)];
        var ids = moments.Select(moment => (used.LastOrDefault(f => f.FittedAt <= moment) ?? used[0]).Id).ToList();
        var asked = ids.Distinct().ToList();
        var texts = await db.Fits.Where(f => asked.Contains(f.Id)).ToDictionaryAsync(f => f.Id, f => f.Json, cancellationToken);
        var fits = texts.ToDictionary(text => text.Key, text => FitJson.Read(text.Value).Fit);
        return [.. ids.Select(id => fits.GetValueOrDefault(id))];
    }

    private static IQueryable<FitRow> Used(RegistryDb db, SpotId spot) =>
        db.Fits.Where(f => f.SpotId == spot.Value && (f.Standing == FitStanding.InUse || f.Standing == FitStanding.Replaced));

    private async Task WriteAsync(OffsetFit fit, FitStanding standing, string reason, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (standing == FitStanding.InUse)
        {
            await db.Fits.Where(f => f.SpotId == fit.SpotName && f.Standing == FitStanding.InUse)
                .ExecuteUpdateAsync(
                    f => f.SetProperty(x => x.Standing, FitStanding.Replaced)
                        .SetProperty(x => x.Reason, $"replaced by {fit.Id}")
                        .SetProperty(x => x.DecidedAt, now),
                    cancellationToken);
        }

        db.Fits.Add(FitRow.Of(fit, standing, reason, now));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        if (standing == FitStanding.InUse)
            _inUse[fit.Spot] = fit;
    }

    /// <summary>Reads the figures of fits that another edition of the program wrote; once each.</summary>
    private static async Task ReadOtherFormatsAsync(RegistryDb db, CancellationToken cancellationToken)
    {
        try
        {
            while (await db.Fits.Where(f => f.Format < FitJson.Format || f.Format > FitJson.Format).OrderBy(f => f.Id).Take(ReadAtOnce).ToListAsync(cancellationToken) is { Count: > 0 } rows)
            {
                foreach (var row in rows)
                    row.TakeFigures(FitJson.Read(row.Json).Fit);
                await db.SaveChangesAsync(cancellationToken);
                db.ChangeTracker.Clear();
            }
        }
        catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
        {
            // They are without figures until it takes something again.
            db.ChangeTracker.Clear();
        }
    }

    private async Task<OffsetFit?> FirstReadableAsync(RegistryDb db, IQueryable<FitRow> ordered, CancellationToken cancellationToken)
    {
        var passedOver = 0;
        while (await ordered.Skip(passedOver).Select(f => f.Id).FirstOrDefaultAsync(cancellationToken) is { } id)
        {
            if (_read.Get<OffsetFit>(id) is { } known)
                return known;
            var json = await db.Fits.Where(f => f.Id == id).Select(f => f.Json).SingleAsync(cancellationToken);
            if (FitJson.Read(json).Fit is { } fit)
                return _read.Set(id, fit, new MemoryCacheEntryOptions { Size = 1 });
            // Retired it is gone from here, so each is met once.
            if (!await RetireAsync(db, id, json, cancellationToken))
                passedOver++;
        }

        return null;
    }

    /// <summary>Takes a fit that cannot be read out of use for good, and says why.</summary>
    /// <returns>Whether the registry took it.</returns>
    private async Task<bool> RetireAsync(RegistryDb db, string id, string json, CancellationToken cancellationToken)
    {
        var reason = $"another edition of the program wrote it, and this one cannot read it ({FitJson.Read(json).Fault}); the handbook stands in until the next fit";
        try
        {
            await db.Fits.Where(f => f.Id == id).ExecuteUpdateAsync(
                f => f.SetProperty(x => x.Standing, FitStanding.Retired).SetProperty(x => x.Reason, reason).SetProperty(x => x.DecidedAt, time.GetUtcNow()),
                cancellationToken);
            logger.Retired(id, reason);
            return true;
        }
        catch (Exception failure) when (DatabaseFaults.TakesNothing(failure))
        {
            // It stays out of use all the same, and is met again.
            logger.NotRetired(id, failure.GetBaseException().Message);
            return false;
        }
    }
}
