using Microsoft.Extensions.Options;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Fitting;

/// <summary>What a run made of one spot.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Fit">Its new fit.</param>
/// <param name="Standing">Whether it took over or waits.</param>
/// <param name="Reason">Why, in a plain sentence.</param>
internal sealed record FitResult(Spot Spot, OffsetFit Fit, FitStanding Standing, string Reason);

/// <summary>Makes new fits and decides whether they take over.</summary>
internal sealed class FitRunner(
    SiteWeather weather, FitStore book, SpotCatalogue catalogue, IOptions<FittingOptions> options, TimeProvider time,
    ILogger<FitRunner> logger) : IDisposable
{
    private static readonly OffsetOptions ModelOptions = new();
    private static readonly TimeSpan DriftReach = TimeSpan.FromDays(10);
    private readonly OffsetModel _model = new(ModelOptions);
    private readonly SemaphoreSlim _oneAtATime = new(1);

    /// <summary>Fits one spot, or all of them.</summary>
    public async Task<IReadOnlyList<FitResult>> RunAsync(
        Spot? only, IProgress<FitResult>? progress, CancellationToken cancellationToken)
    {
        var results = new List<FitResult>();
        foreach (var spot in only is null ? catalogue.All : [only])
        {
            await _oneAtATime.WaitAsync(cancellationToken);
            try
            {
                if (await FitAsync(spot, cancellationToken) is not { } result)
                    continue;
                results.Add(result);
                progress?.Report(result);
            }
            finally
            {
                _oneAtATime.Release();
            }
        }

        return results;
    }

    public void Dispose() => _oneAtATime.Dispose();

    private async Task<FitResult?> FitAsync(Spot spot, CancellationToken cancellationToken)
    {
        await book.RefreshAsync(cancellationToken);
        var now = time.GetUtcNow();
        var groundSince = await book.GroundSinceAsync(spot.Id, cancellationToken);
        // Steps are kept by their ends; one more day lets the lagged features of the first day see the day before.
        var history = InputsAtHand.ForLearning(await weather.LoadAsync(
            spot, now - ModelOptions.Window - TimeSpan.FromDays(1), now.AddTicks(1), cancellationToken));
        // What was measured on other ground teaches nothing of this one; its air stays.
        history = [.. history.Select(sample => sample.At <= groundSince ? sample with { SurfaceCelsius = null } : sample)];
        var fit = await Task.Run(() => _model.Fit(spot, history, now), cancellationToken);
        if (await book.HasAsync(fit.Id, cancellationToken))
            return null; // Asked twice within a second.
        if (await book.GroundSinceAsync(spot.Id, cancellationToken) != groundSince)
            return null; // Changed meanwhile; the next run knows.
        var judgement = FitReview.Judge(
            fit, book.InUse(spot.Id), spot, history, now, options.Value.ComparedDays, options.Value.ToleranceKelvin);
        var standing = judgement.Accepted ? FitStanding.InUse : FitStanding.Waiting;
        var reason = judgement.Reason + await DriftAsync(spot, history, now, cancellationToken);
        await book.AddAsync(fit, standing, reason, cancellationToken);
        logger.Fitted(fit.Id, spot.Id.Value, fit.SampleCount, standing, reason);
        return new FitResult(spot, fit, standing, reason);
    }

    /// <summary>What the spot's last days say against the fit of ten days ago: nightly ones follow a change too soon to show it.</summary>
    private async Task<string> DriftAsync(
        Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (await book.AtAsync(spot.Id, now - DriftReach, cancellationToken) is not { SampleCount: > 0 } older
            || older.FittedAt > now - DriftReach)
            return "";
        var finding = SpotDrift.Look(older, spot, history, now);
        return finding.Kind is DriftKind.Unknown or DriftKind.None ? "" : $"; the spot {finding.Text()}";
    }
}
