using Microsoft.Extensions.Options;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Fitting;

/// <summary>What a run made of one spot.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Fit">Its new fit.</param>
/// <param name="Standing">Whether it took over or waits.</param>
/// <param name="Reason">Why, in a plain sentence.</param>
internal sealed record FitResult(Spot Spot, OffsetFit Fit, FitStanding Standing, string Reason);

/// <summary>Makes new fits and decides whether they take over.</summary>
internal sealed class FitRunner(
    SiteWeather weather, FitBook book, SpotCatalogue catalogue, IOptions<FittingOptions> options, TimeProvider time,
    ILogger<FitRunner> logger) : IDisposable
{
    private static readonly OffsetOptions ModelOptions = new();
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
        // Steps are kept by their ends; one more day lets the lagged features of the first day see the day before.
        var history = await weather.LoadAsync(
            spot, now - ModelOptions.Window - TimeSpan.FromDays(1), now.AddTicks(1), cancellationToken);
        var fit = await Task.Run(() => _model.Fit(spot, history, now), cancellationToken);
        if (await book.HasAsync(fit.Id, cancellationToken))
            return null; // Asked twice within a second.
        var (standing, reason) = Judge(spot, fit, book.InUse(spot.Id), history, now);
        await book.AddAsync(fit, standing, reason, cancellationToken);
        logger.Fitted(fit.Id, spot.Id.Value, fit.SampleCount, standing, reason);
        return new FitResult(spot, fit, standing, reason);
    }

    /// <summary>A new fit takes over unless it does worse on the last days, both estimating them without their surface readings.</summary>
    private (FitStanding Standing, string Reason) Judge(
        Spot spot, OffsetFit fit, OffsetFit? inUse, IReadOnlyList<WeatherSample> history, DateTimeOffset now)
    {
        if (inUse is null)
            return (FitStanding.InUse, fit.SampleCount == 0 ? "the first: from the handbook, no readings yet" : "the first on readings");
        if (fit.SampleCount == 0 && inUse.SampleCount > 0)
            return (FitStanding.Waiting, "no readings in its window, while the one in use has some");
        var days = options.Value.ComparedDays;
        var measured = history.Where(s => s.SurfaceCelsius is not null && s.At > now - TimeSpan.FromDays(days)).ToList();
        if (measured.Count == 0)
            return (FitStanding.InUse, $"no readings in the last {days} days to hold it against");
        var blind = history.Select(s => s with { SurfaceCelsius = null }).ToList();
        var candidate = RmseKelvin(spot, fit, blind, measured);
        var current = RmseKelvin(spot, inUse, blind, measured);
        var scores = $"{candidate:F2} K against {current:F2} K on the last {days} days";
        return candidate <= current + options.Value.ToleranceKelvin
            ? (FitStanding.InUse, $"no worse: {scores}")
            : (FitStanding.Waiting, $"worse: {scores}; the analyst decides");
    }

    private double RmseKelvin(
        Spot spot, OffsetFit fit, IReadOnlyList<WeatherSample> blind, IReadOnlyList<WeatherSample> measured)
    {
        var estimates = _model.Estimate(fit, spot, blind, [.. measured.Select(s => s.At)]);
        return Math.Sqrt(measured.Zip(estimates, (m, e) => Math.Pow(m.SurfaceCelsius!.Value - e.SurfaceCelsius, 2)).Average());
    }
}
