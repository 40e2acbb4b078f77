using PavementWatch.Core.Agreement;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Estimates;

namespace PavementWatch.Server.Analyst;

/// <summary>How the fit in use did on the last days.</summary>
internal sealed class Residuals(SpotEstimates ground, TimeProvider time)
{
    /// <summary>[days] How far back.</summary>
    public const int Days = 7;


    // Fewer tell nothing of a share.
    private const int LeastUnseen = 48;

    private static readonly TimeSpan Spacing = TimeSpan.FromMinutes(30);
    private static readonly TimeSpan AgedSpacing = TimeSpan.FromHours(4);

    /// <summary>Quantiles of the normal distribution that turn the ends for 90 % into those for others (common tables).</summary>
    private static readonly (double Percent, double Quantile)[] Nominal =
        [(50, 0.67449), (60, 0.84162), (70, 1.03643), (80, 1.28155), (90, 1.64485), (95, 1.95996)];

    public async Task<ResidualReview> OfAsync(Spot spot, OffsetFit? inUse, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var from = now - TimeSpan.FromDays(Days);
        var weather = await ground.WeatherAsync(spot, from, now, now, cancellationToken);
        var measured = weather.Samples.Where(s => s.At > from && s.SurfaceCelsius is not null && s.At.UtcTicks % Spacing.Ticks == 0).ToList();
        var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
        var estimated = measured.Zip(SpotEstimates.Unseen(inUse, spot, weather, [.. measured.Select(m => m.At)]))
            .Where(p => double.IsFinite(p.Second.UpperCelsius))
            .Select(p => (
                Point: new ResidualPoint(
                    p.First.At,
                    p.First.SurfaceCelsius!.Value - p.Second.SurfaceCelsius,
                    TimeZoneInfo.ConvertTime(p.First.At, zone).TimeOfDay.TotalHours,
                    SolarPosition.At(p.First.At, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees,
                    p.First.AirCelsius,
                    Learned: inUse is { SampleCount: > 0 } fit && p.First.At > fit.WindowFrom && p.First.At <= fit.WindowTo)
                {
                    WindMetersPerSecond = p.First.WindMetersPerSecond,
                    SolarWattsPerSquareMeter = p.First.SolarWattsPerSquareMeter,
                    Doubt = p.Second.Doubt,
                    Inside = p.First.SurfaceCelsius >= p.Second.LowerCelsius && p.First.SurfaceCelsius <= p.Second.UpperCelsius,
                },
                BelowKelvin: p.Second.SurfaceCelsius - p.Second.LowerCelsius,
                AboveKelvin: p.Second.UpperCelsius - p.Second.SurfaceCelsius))
            .ToList();
        var unseen = estimated.Where(e => !e.Point.Learned).ToList();
        var judged = unseen.Count >= LeastUnseen ? unseen : estimated;
        return new ResidualReview(
            Days,
            [.. estimated.Select(e => e.Point)],
            await Task.Run(() => Aged(spot, inUse, weather.Samples, measured), cancellationToken),
            [.. Nominal.Select(n => IntervalCoverage.Of(
                judged.Select(e =>
                {
                    var share = n.Quantile / Nominal[4].Quantile;
                    return (-share * e.BelowKelvin, share * e.AboveKelvin, e.Point.ResidualKelvin);
                }),
                n.Percent)).OfType<IntervalCoverage>()],
            CalibratedOnUnseen: unseen.Count >= LeastUnseen);
    }

    private static List<AgedResidual> Aged(
        Spot spot, OffsetFit? fit, IReadOnlyList<WeatherSample> samples, IEnumerable<WeatherSample> measured)
    {
        var aged = new List<AgedResidual>();
        foreach (var moment in measured.Where(m => m.At.UtcTicks % AgedSpacing.Ticks == 0))
        {
            var trailing = samples.Where(s => s.At > moment.At - SpotEstimation.Reach && s.At <= moment.At).ToList();
            foreach (var age in Backtest.Ages)
            {
                var last = moment.At - TimeSpan.FromHours(age);
                if (trailing.LastOrDefault(s => s.SurfaceCelsius is not null && s.At <= last) is not { SurfaceCelsius: not null } seen
                    || last - seen.At > Spacing)
                {
                    continue;
                }

                var known = trailing.Select(s => s.At <= last ? s : s with { SurfaceCelsius = null }).ToList();
                var estimate = SpotEstimation.At(fit, spot, SpotWeather.Past(known), [moment.At])[0].Value.SurfaceCelsius;
                if (double.IsFinite(estimate))
                    aged.Add(new AgedResidual(age, moment.SurfaceCelsius!.Value - estimate));
            }
        }

        return aged;
    }
}
