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
using PavementWatch.Server.Gateways;
using PavementWatch.Server.People;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Analyst;

/// <summary>What the analyst's pages show, from registry and store.</summary>
internal sealed class AnalystQuery(
    IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue, FitStore fits, FitDecisions decisions, Residuals residuals,
    ISpotChecks checks, Thresholds thresholds, IReadingStore store, WeatherStore places, TimeProvider time) : IAnalystQuery
{
    /// <summary>How many fits of a spot are shown: a month of nights and some by hand.</summary>
    private const int MostVersions = 40;

    /// <summary>How many points a spot's history has at most, and the plot of all spots.</summary>
    private const int MostPoints = 200;
    private const int MostPointsOfAll = 4_000;

    public async Task<IReadOnlyList<SpotOffset>> SpotsAsync(CancellationToken cancellationToken)
    {
        var spots = catalogue.All;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var shown = (await Figures(db.Fits.Where(f => f.SampleCount != null && (f.Standing == FitStanding.InUse || f.Standing == FitStanding.Waiting))
            .OrderByDescending(f => f.FittedAt)).ToListAsync(cancellationToken)).ToLookup(f => f.SpotId);
        var history = (await HistoryAsync(db, Math.Clamp(MostPointsOfAll / Math.Max(1, spots.Count), 10, MostPoints), cancellationToken)).ToLookup(p => p.SpotId);
        return [.. spots.Select(spot => new SpotOffset(
            spot,
            shown[spot.Id.Value].Where(f => f.Standing == FitStanding.InUse).Select(Version).FirstOrDefault(),
            [.. shown[spot.Id.Value].Where(f => f.Standing == FitStanding.Waiting).Select(Version)],
            [.. history[spot.Id.Value].Select(p => new FitPoint(DateTimeOffset.FromUnixTimeMilliseconds(p.FittedAt), p.MeanOffsetKelvin))]))];
    }

    public async Task<SpotReview?> ReviewAsync(SpotId spot, CancellationToken cancellationToken)
    {
        if (catalogue.Find(spot) is not { } known || await checks.CompareAsync(spot, cancellationToken) is not { } agreement)
            return null;
        await fits.RefreshAsync(cancellationToken);
        var inUse = fits.InUse(spot);
        var now = time.GetUtcNow();
        var from = now - TimeSpan.FromDays(Residuals.Days);
        var counts = await store.DoubtsAsync(spot, from, now, cancellationToken);
        var rain = (await places.LoadAsync(known.Site, from, now, cancellationToken)).Observed.Rain;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return new SpotReview(
            await FitsAsync(known, cancellationToken),
            await decisions.OfAsync(spot, cancellationToken),
            await residuals.OfAsync(known, inUse, cancellationToken),
            agreement,
            inUse)
        {
            IsMeasured = await db.GatewaySpots.AnyAsync(g => g.SpotId == spot.Value, cancellationToken),
            ReadingCount = counts.Values.Sum(),
            Doubted = DoubtedReadings.Of(counts),
            Rain = rain.LastOfAny(now, from) is { } last ? new(rain.Sum(from, now), last) : null,
        };
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
        var all = db.Fits.Where(f => f.SpotId == spot.Id.Value);
        var newest = await Figures(all.OrderByDescending(f => f.FittedAt).Take(MostVersions)).ToListAsync(cancellationToken);
        // The one in use may be older than many that wait or were refused.
        if (newest.TrueForAll(f => f.Standing != FitStanding.InUse))
            newest.AddRange(await Figures(all.Where(f => f.Standing == FitStanding.InUse)).ToListAsync(cancellationToken));
        return new SpotFits(spot, [.. newest.Where(f => f.SampleCount is not null).Select(Version)])
        {
            Count = await all.CountAsync(cancellationToken),
            Unreadable = [.. newest.Where(f => f.SampleCount is null).Select(f => new UnreadableFit(f.Id, f.FittedAt, f.Reason))],
        };
    }

    /// <summary>All of some rows but the fits themselves, which are some kilobytes each.</summary>
    private static IQueryable<FiguresRow> Figures(IQueryable<FitRow> rows) => rows.Select(f => new FiguresRow
    {
        Id = f.Id,
        SpotId = f.SpotId,
        FittedAt = f.FittedAt,
        Standing = f.Standing,
        Reason = f.Reason,
        DecidedAt = f.DecidedAt,
        SampleCount = f.SampleCount,
        LearnedFrom = f.LearnedFrom,
        LearnedTo = f.LearnedTo,
        MeanOffsetKelvin = f.MeanOffsetKelvin,
        ResidualScaleKelvin = f.ResidualScaleKelvin,
        IntervalCoveragePercent = f.IntervalCoveragePercent,
    });

    private static FitVersion Version(FiguresRow row) => new(
        new FitFigures(row.Id, row.FittedAt, row.SampleCount!.Value)
        {
            LearnedFrom = row.LearnedFrom!.Value,
            LearnedTo = row.LearnedTo!.Value,
            MeanOffsetKelvin = row.MeanOffsetKelvin!.Value,
            ResidualScaleKelvin = row.ResidualScaleKelvin!.Value,
            IntervalCoveragePercent = row.IntervalCoveragePercent,
        },
        Place(row.Standing), row.Reason, row.DecidedAt);

    /// <summary>Of each spot's fits one of so many, counted from the newest, that no more than some are left; in time order.</summary>
    private static Task<List<HistoryRow>> HistoryAsync(RegistryDb db, int most, CancellationToken cancellationToken) =>
        db.Database.SqlQuery<HistoryRow>(
            $"""
            SELECT "SpotId", "FittedAt", "MeanOffsetKelvin"
            FROM (SELECT "SpotId", "FittedAt", "MeanOffsetKelvin",
                      ROW_NUMBER() OVER (PARTITION BY "SpotId" ORDER BY "FittedAt" DESC) - 1 AS newer,
                      COUNT(*) OVER (PARTITION BY "SpotId") AS fits
                  FROM "Fits" WHERE "SampleCount" > 0) AS points
            WHERE newer % ((fits + {most} - 1) / {most}) = 0 ORDER BY "SpotId", "FittedAt"
            """).ToListAsync(cancellationToken);

    private static FitPlace Place(FitStanding standing) => standing switch
    {
        FitStanding.InUse => FitPlace.InUse,
        FitStanding.Replaced => FitPlace.Replaced,
        FitStanding.Refused => FitPlace.Refused,
        FitStanding.Retired => FitPlace.Retired,
        _ => FitPlace.Waiting,
    };

    // As the table holds it.
    private sealed record HistoryRow(string SpotId, long FittedAt, double MeanOffsetKelvin);

    private sealed record FiguresRow
    {
        public required string Id { get; init; }

        public required string SpotId { get; init; }

        public required DateTimeOffset FittedAt { get; init; }

        public required FitStanding Standing { get; init; }

        public required string Reason { get; init; }

        public required DateTimeOffset DecidedAt { get; init; }

        public required int? SampleCount { get; init; }

        public required DateTimeOffset? LearnedFrom { get; init; }

        public required DateTimeOffset? LearnedTo { get; init; }

        public required double? MeanOffsetKelvin { get; init; }

        public required double? ResidualScaleKelvin { get; init; }

        public required double? IntervalCoveragePercent { get; init; }
    }
}
