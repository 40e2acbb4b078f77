using PavementWatch.Core.Agreement;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Checks;

/// <summary>Holds sensor and offset against hand-held checks.</summary>
internal sealed class CheckComparison(IReadingStore store, SpotEstimates ground, FitStore fits, Thresholds thresholds)
{
    /// <summary>Most checks of a spot that are compared, the newest.</summary>
    public const int MostChecks = 1000;

    private static readonly TimeSpan SameVisit = TimeSpan.FromHours(12);

    /// <param name="spot">The spot.</param>
    /// <param name="checks">Its checks in time order.</param>
    /// <param name="cancellationToken">Stops.</param>
    public async Task<SpotAgreement> CompareAsync(Spot spot, IReadOnlyList<SpotCheck> checks, CancellationToken cancellationToken)
    {
        var asked = await thresholds.Async(cancellationToken);
        var visits = Visits(checks);
        // Of the fit in use now nobody was told then, and it may have learnt from what was measured beside the check.
        var inUse = await fits.AtAsync(spot.Id, [.. visits.Select(v => v[0].At)], cancellationToken);
        var weather = await ground.PastAsync(spot, [.. visits.Select(v => (v[0].At, v[^1].At + SpotWeather.Step))], cancellationToken);
        var readings = (await store.RangesAsync(spot.Id, [.. Around(checks)], cancellationToken)).Select(r => r.Reading).ToList();
        var compared = visits.Zip(inUse, weather).SelectMany(v => CompareVisit(spot, v.Second, v.First, v.Third, readings)).ToList();

        var sensor = Compare([.. compared.Where(c => c.SensorCelsius is not null)], c => c.SensorCelsius!.Value, spot, asked);
        var judging = compared.Where(c => c.JudgesEstimate).ToList();
        var estimate = Compare(judging, c => c.EstimateCelsius!.Value, spot, asked);
        var verdict = SpotVerdict.Of(sensor.Verdict, estimate.Verdict);
        return new SpotAgreement(spot, compared, sensor, estimate, verdict, asked)
        {
            Coverage = IntervalCoverage.Of(judging.Select(c => (c.LowerCelsius!.Value, c.UpperCelsius!.Value, c.ReferenceCelsius))),
            Recalibration = verdict.Blame == Blame.Sensor ? Recalibration.Of(sensor.Pairs, asked) : null,
        };
    }

    /// <summary>[°C] The surface by what a thermometer showed.</summary>
    public async Task<double> ReferenceAsync(Spot spot, SpotCheck check, CancellationToken cancellationToken)
    {
        var weather = await ground.PastAsync(spot, [(check.At, check.At + SpotWeather.Step)], cancellationToken);
        return Reference(spot, check, WeatherNear(weather[0].Samples, check.At));
    }

    /// <summary>Checks close enough together to share one stretch of weather.</summary>
    private static List<List<SpotCheck>> Visits(IReadOnlyList<SpotCheck> checks)
    {
        var visits = new List<List<SpotCheck>>();
        foreach (var check in checks)
        {
            if (visits.Count == 0 || check.At - visits[^1][^1].At > SameVisit)
                visits.Add([]);
            visits[^1].Add(check);
        }

        return visits;
    }

    /// <summary>The spans in which a reading may stand beside a check.</summary>
    private static IEnumerable<(DateTimeOffset From, DateTimeOffset To)> Around(IReadOnlyList<SpotCheck> checks)
    {
        for (var i = 0; i < checks.Count; i++)
        {
            var from = checks[i].At - NearestReading.Within;
            while (i + 1 < checks.Count && checks[i + 1].At - checks[i].At <= 2 * NearestReading.Within)
                i++;
            yield return (from, checks[i].At + NearestReading.Within + TimeSpan.FromMilliseconds(1));
        }
    }

    private static IEnumerable<ComparedCheck> CompareVisit(
        Spot spot, OffsetFit? fit, List<SpotCheck> visit, SpotWeather weather, IReadOnlyList<Reading> readings)
    {
        // As if the sensor had been dark for days: the check must not be held against its own neighbour in time.
        var estimates = SpotEstimates.Unseen(fit, spot, weather, [.. visit.Select(c => c.At)]);
        return visit.Zip(estimates, (check, estimate) =>
        {
            var air = WeatherNear(weather.Samples, check.At);
            var known = air is not null && double.IsFinite(estimate.SurfaceCelsius);
            return new ComparedCheck(check, Reference(spot, check, air))
            {
                SensorCelsius = NearestReading.Find(readings, check.At)?.SurfaceCelsius,
                EstimateCelsius = known ? estimate.SurfaceCelsius : null,
                LowerCelsius = known ? estimate.LowerCelsius : null,
                UpperCelsius = known ? estimate.UpperCelsius : null,
            };
        });
    }

    /// <summary>The surface by what the thermometer showed: its emissivity and the sky it reflects allowed for; as shown where air or setting are not known.</summary>
    private static double Reference(Spot spot, SpotCheck check, WeatherSample? weather)
    {
        if (check.EmissivityFraction is not { } setting || weather is not { } near)
            return check.ShownCelsius;
        var sky = check.Ground == CheckedGround.Shade ? 0 : ReflectedSky.UsualOpenSkyFraction;
        double? vapour = near.HumidityPercent is { } humidity ? VapourPressure.Hectopascals(near.AirCelsius, humidity) : null;
        return HandHeldReading.SurfaceCelsius(
            check.ShownCelsius, setting, spot.SurfaceEmissivityFraction(), near.AirCelsius, ReflectedSky.Celsius(HandHeldReading.Band, near.AirCelsius, vapour, sky));
    }

    private static WeatherSample? WeatherNear(IReadOnlyList<WeatherSample> samples, DateTimeOffset at)
    {
        var near = samples.Where(s => (s.At - at).Duration() <= TimeSpan.FromMinutes(30)).ToList();
        return near.Count == 0 ? null : near.MinBy(s => (s.At - at).Duration());
    }

    private static MethodComparison Compare(
        IReadOnlyList<ComparedCheck> checks, Func<ComparedCheck, double> celsius, Spot spot, AgreementThresholds asked)
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
        var days = checks.Select(c => LocalDay.Of(zone, c.Check.At)).Distinct().Count();
        ComparedPair[] pairs = [.. checks.Select(c => new ComparedPair(celsius(c), c.ReferenceCelsius))];
        var agreement = BlandAltman.Of(pairs);
        return new(pairs, agreement, AgreementVerdict.Of(agreement, days, asked));
    }
}
