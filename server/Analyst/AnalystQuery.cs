using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.People;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Analyst;

/// <summary>The analyst's desk, from registry and store.</summary>
internal sealed class AnalystQuery(
    IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue, FitStore book, FitDecisions decisions, Residuals residuals,
    ISpotChecks checks, Thresholds thresholds) : IAnalystQuery
{
    /// <summary>How many fits of a spot are shown: a month of nights and some by hand.</summary>
    private const int MostVersions = 40;

    /// <summary>How many points a spot's history has at most.</summary>
    private const int MostPoints = 200;

    public async Task<IReadOnlyList<SpotFits>> SpotsAsync(CancellationToken cancellationToken)
    {
        var spots = new List<SpotFits>();
        foreach (var spot in catalogue.All)
            spots.Add(await FitsAsync(spot, cancellationToken));
        return spots;
    }

    public async Task<SpotReview?> ReviewAsync(SpotId spot, CancellationToken cancellationToken)
    {
        if (catalogue.Find(spot) is not { } known || await checks.CompareAsync(spot, cancellationToken) is not { } agreement)
            return null;
        await book.RefreshAsync(cancellationToken);
        return new SpotReview(
            await FitsAsync(known, cancellationToken),
            await decisions.OfAsync(spot, cancellationToken),
            await residuals.OfAsync(known, book.InUse(spot), cancellationToken),
            agreement);
    }

    public Task<string?> DecideAsync(
        SpotId spot, string fitId, bool accept, string reason, ClaimsPrincipal by, CancellationToken cancellationToken) =>
        decisions.DecideAsync(spot, fitId, accept, reason, by, cancellationToken);

    public Task<AgreementThresholds> ThresholdsAsync(CancellationToken cancellationToken) => thresholds.Async(cancellationToken);

    public Task SetThresholdsAsync(AgreementThresholds asked, ClaimsPrincipal by, CancellationToken cancellationToken) =>
        thresholds.SetAsync(asked, Visitor.PersonId(by), by.Identity?.Name ?? "", cancellationToken);

    private async Task<SpotFits> FitsAsync(Spot spot, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var all = db.Fits.AsNoTracking().Where(f => f.SpotId == spot.Id.Value);
        var newest = await all.OrderByDescending(f => f.FittedAt).Take(MostVersions).ToListAsync(cancellationToken);
        // The one in use may be older than many that wait or were refused.
        if (newest.All(f => f.Standing != FitStanding.InUse))
            newest.AddRange(await all.Where(f => f.Standing == FitStanding.InUse).ToListAsync(cancellationToken));
        var count = await all.CountAsync(cancellationToken);
        var read = newest.ConvertAll(f => (Row: f, FitJson.Read(f.Json).Fit));
        return new SpotFits(spot, [.. read.Where(f => f.Fit is not null)
            .Select(f => new FitVersion(f.Fit!, Place(f.Row.Standing), f.Row.Reason, f.Row.DecidedAt))])
        {
            Count = count,
            Unreadable = [.. read.Where(f => f.Fit is null).Select(f => new UnreadableFit(f.Row.Id, f.Row.FittedAt, f.Row.Reason))],
            History = await HistoryAsync(db, spot, (count + MostPoints - 1) / MostPoints, cancellationToken),
        };
    }

    /// <summary>One of so many fits, counted from the newest. Only two numbers of each are read: years of whole fits would take seconds.</summary>
    private static async Task<IReadOnlyList<FitPoint>> HistoryAsync(
        RegistryDb db, Spot spot, int oneOf, CancellationToken cancellationToken)
    {
        if (oneOf == 0)
            return [];
        var points = await db.Database.SqlQuery<HistoryRow>(
            $"""
            SELECT "FittedAt", json_extract("Json", '$.MeanOffsetKelvin') AS "MeanOffsetKelvin"
            FROM (SELECT "FittedAt", "Json", ROW_NUMBER() OVER (ORDER BY "FittedAt" DESC) AS n FROM "Fits"
                  WHERE "SpotId" = {spot.Id.Value} AND CASE WHEN json_valid("Json")
                      THEN json_extract("Json", '$.SampleCount') > 0 AND json_type("Json", '$.MeanOffsetKelvin') IN ('real', 'integer') END)
            WHERE (n - 1) % {oneOf} = 0 ORDER BY "FittedAt"
            """).ToListAsync(cancellationToken);
        return [.. points.Select(p => new FitPoint(DateTimeOffset.FromUnixTimeMilliseconds(p.FittedAt), p.MeanOffsetKelvin))];
    }

    private static FitPlace Place(FitStanding standing) => standing switch
    {
        FitStanding.InUse => FitPlace.InUse,
        FitStanding.Replaced => FitPlace.Replaced,
        FitStanding.Refused => FitPlace.Refused,
        FitStanding.Retired => FitPlace.Retired,
        _ => FitPlace.Waiting,
    };

    // As the table holds it.
    private sealed record HistoryRow(long FittedAt, double MeanOffsetKelvin);
}
