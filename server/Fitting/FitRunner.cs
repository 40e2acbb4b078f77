using System.Collections.Concurrent;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Fitting;

/// <summary>What a run made of one spot.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Fit">Its new fit.</param>
/// <param name="Standing">Whether it took over or waits.</param>
/// <param name="Judgement">Why.</param>
internal sealed record FitResult(Spot Spot, OffsetFit Fit, FitStanding Standing, FitJudgement Judgement);

/// <summary>Makes new fits and decides whether they take over.</summary>
internal sealed class FitRunner(
    SiteWeather weather, FitStore fits, SpotCatalogue catalogue, IOptions<FittingOptions> options, TimeProvider time,
    ILogger<FitRunner> logger) : IDisposable
{
    private static readonly OffsetOptions ModelOptions = new();
    private static readonly TimeSpan DriftReach = TimeSpan.FromDays(10);

    // A fit holds some tens of megabytes while it is made.
    private static readonly int AtOnce = Math.Clamp(Environment.ProcessorCount, 1, 8);

    private readonly OffsetModel _model = new(ModelOptions);
    private readonly SemaphoreSlim _oneRunAtATime = new(1);

    /// <summary>Fits one spot, or all of them.</summary>
    public Task<IReadOnlyList<FitResult>> RunAsync(Spot? only, IProgress<FitResult>? progress, CancellationToken cancellationToken) =>
        RunAsync(only is null ? catalogue.All : [only], progress, failed: null, cancellationToken);

    /// <summary>Fits some spots, as many at a time as there are processors.</summary>
    /// <param name="spots">The spots.</param>
    /// <param name="progress">Told of each in turn, site by site, one at a time.</param>
    /// <param name="failed">Told of each that failed, while the others go on; without it the first failure ends the run.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>What became of each, in their order.</returns>
    public async Task<IReadOnlyList<FitResult>> RunAsync(
        IReadOnlyList<Spot> spots, IProgress<FitResult>? progress, Action<Spot, Exception>? failed, CancellationToken cancellationToken)
    {
        await _oneRunAtATime.WaitAsync(cancellationToken);
        try
        {
            await fits.RefreshAsync(cancellationToken);
            var now = time.GetUtcNow();
            // Steps are kept by their ends; one more day lets the lagged features of the first day see the day before.
            var span = weather.Over(now - ModelOptions.Window - TimeSpan.FromDays(1), now.AddTicks(1), cancellationToken);
            // Spots of a site one after the other: what they share is kept no longer than they are under way.
            var ordered = spots.OrderBy(s => s.Site, StringComparer.Ordinal).ToList();
            var results = new ConcurrentDictionary<SpotId, FitResult?>();
            var telling = new Lock();
            var told = 0;
            await Parallel.ForEachAsync(
                ordered,
                new ParallelOptions { MaxDegreeOfParallelism = AtOnce, CancellationToken = cancellationToken },
                async (spot, token) =>
                {
                    results[spot.Id] = await TryAsync(spot, span, now, failed, token);
                    lock (telling)
                    {
                        for (; told < ordered.Count && results.TryGetValue(ordered[told].Id, out var next); told++)
                        {
                            if (next is not null)
                                progress?.Report(next);
                        }
                    }
                });
            return [.. spots.Select(s => results.GetValueOrDefault(s.Id)).OfType<FitResult>()];
        }
        finally
        {
            _oneRunAtATime.Release();
        }
    }

    public void Dispose() => _oneRunAtATime.Dispose();

    private async Task<FitResult?> TryAsync(
        Spot spot, SpanWeather span, DateTimeOffset now, Action<Spot, Exception>? failed, CancellationToken cancellationToken)
    {
        try
        {
            return await FitAsync(spot, span, now, cancellationToken);
        }
        catch (Exception failure) when (failed is not null && !cancellationToken.IsCancellationRequested)
        {
            failed(spot, failure);
            return null;
        }
    }

    private async Task<FitResult?> FitAsync(Spot spot, SpanWeather span, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var groundSince = await fits.GroundSinceAsync(spot.Id, cancellationToken);
        var samples = await span.LoadAsync(spot);
        var older = await OlderAsync(spot, now, cancellationToken);
        // On a thread of its own: readings, pages and the watch need those of the pool meanwhile.
        var (fit, judgement) = await Task.Factory.StartNew(
            () => Fit(spot, samples, groundSince, older, now), cancellationToken, TaskCreationOptions.LongRunning, TaskScheduler.Default);
        if (await fits.HasAsync(fit.Id, cancellationToken))
            return null; // Asked twice within a second.
        if (await fits.GroundSinceAsync(spot.Id, cancellationToken) != groundSince)
            return null; // Changed meanwhile; the next run knows.
        var standing = judgement.Accepted ? FitStanding.InUse : FitStanding.Waiting;
        await fits.AddAsync(fit, standing, FitReasonTexts.Keep(judgement), cancellationToken);
        if (logger.IsEnabled(LogLevel.Information))
            logger.Fitted(fit.Id, spot.Id.Value, fit.SampleCount, standing, FitReasonTexts.Of(judgement, TemperatureUnit.Celsius));
        return new FitResult(spot, fit, standing, judgement);
    }

    private (OffsetFit Fit, FitJudgement Judgement) Fit(
        Spot spot, IReadOnlyList<WeatherSample> samples, DateTimeOffset? groundSince, OffsetFit? older, DateTimeOffset now)
    {
        var history = InputsAtHand.ForLearning(samples);
        // What was measured on other ground teaches nothing of this one; its air stays.
        if (groundSince is not null)
            history = [.. history.Select(sample => sample.At <= groundSince ? sample with { SurfaceCelsius = null, DoubtedSurfaceCelsius = null } : sample)];
        var fit = _model.Fit(spot, history, now);
        var judgement = FitReview.Judge(fit, fits.InUse(spot.Id), spot, history, now, options.Value.ComparedDays, options.Value.ToleranceKelvin);
        return (fit, judgement with { Drift = Drift(older, spot, history, now) });
    }

    /// <summary>The fit of ten days ago: nightly ones follow a change too soon to show it.</summary>
    private async Task<OffsetFit?> OlderAsync(Spot spot, DateTimeOffset now, CancellationToken cancellationToken) =>
        await fits.AtAsync(spot.Id, now - DriftReach, cancellationToken) is { SampleCount: > 0 } older && older.FittedAt <= now - DriftReach ? older : null;

    /// <summary>What the spot's last days say against an older fit; <c>null</c> where they say nothing.</summary>
    private static DriftFinding? Drift(OffsetFit? older, Spot spot, IReadOnlyList<WeatherSample> history, DateTimeOffset now)
    {
        if (older is null)
            return null;
        var finding = SpotDrift.Look(older, spot, history, now);
        return finding.Kind is DriftKind.Unknown or DriftKind.None ? null : finding;
    }
}
