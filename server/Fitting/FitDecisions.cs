using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Fitting;

/// <summary>Accepts and refuses waiting fits; who, when and why is only ever added to.</summary>
internal sealed class FitDecisions(
    IDbContextFactory<RegistryDb> registry, FitStore fits, TimeProvider time)
{
    public const int LongestReason = 500;

    /// <returns>Why it could not be; <c>null</c> when it is done.</returns>
    public async Task<string?> DecideAsync(
        SpotId spot, string fitId, bool accept, string reason, ClaimsPrincipal by, CancellationToken cancellationToken)
    {
        reason = reason.Trim();
        if (reason.Length is 0 or > LongestReason)
            return $"The reason has {reason.Length} characters, expected 1 to {LongestReason}: it is kept, so that others understand later.";
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var fit = await db.Fits.SingleOrDefaultAsync(f => f.Id == fitId && f.SpotId == spot.Value, cancellationToken);
        if (fit is null)
            return $"The spot has no fit {fitId}; reload the page.";
        if (fit.Standing != FitStanding.Waiting)
            return $"The fit {fitId} no longer waits: {FitReasonTexts.Of(fit.Reason, TemperatureUnit.Both)}. Reload the page.";
        if (accept && FitJson.Read(fit.Json).Fault is not null)
            return $"The fit {fitId} was written by another edition of the program and cannot be read; refuse it, the next night makes a new one.";

        var name = by.Identity?.Name ?? "";
        var now = time.GetUtcNow();
        var before = accept
            ? await db.Fits.SingleOrDefaultAsync(f => f.SpotId == spot.Value && f.Standing == FitStanding.InUse, cancellationToken)
            : null;
        if (before is not null)
        {
            (before.Standing, before.Reason, before.DecidedAt) = (FitStanding.Replaced, $"replaced by {fitId}, which {name} accepted", now);
            // Only one may be in use at any moment, also between two lines of this.
            await db.SaveChangesAsync(cancellationToken);
        }

        (fit.Standing, fit.Reason, fit.DecidedAt) = accept
            ? (FitStanding.InUse, $"accepted by {name}: {reason}", now)
            : (FitStanding.Refused, $"refused by {name}: {reason}", now);
        db.FitDecisions.Add(new FitDecisionRow
        {
            FitId = fitId,
            SpotId = spot.Value,
            At = now,
            PersonId = Visitor.PersonId(by),
            PersonName = name,
            Accepted = accept,
            Reason = reason,
            ReplacedFitId = before?.Id,
        });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        await fits.RefreshAsync(cancellationToken);
        return null;
    }

    /// <summary>What people decided about a spot's fits, newest first.</summary>
    public async Task<IReadOnlyList<FitDecision>> OfAsync(SpotId spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.FitDecisions.AsNoTracking().Where(d => d.SpotId == spot.Value).OrderByDescending(d => d.Id)
            .Select(d => new FitDecision(d.At, d.PersonName, d.FitId, d.Accepted, d.Reason, d.ReplacedFitId))
            .ToListAsync(cancellationToken);
    }
}
