using PavementWatch.Core.Offsets;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>A surface temperature measured somewhere for once, e.g. by a satellite.</summary>
/// <param name="At">When, UTC.</param>
/// <param name="Station">Whose weather it had.</param>
/// <param name="SurfaceCelsius">[°C] The surface.</param>
public readonly record struct SurfaceScene(DateTimeOffset At, string Station, double SurfaceCelsius);

/// <summary>Holds what the handbook says of ground that nobody measures against surfaces measured for once.</summary>
/// <remarks>A row of weather stands for the time since the row before it, at most for an hour, as hourly means do.</remarks>
public static class HandbookBacktest
{
    private const double HighSunDegrees = 30;
    private static readonly TimeSpan RowHolds = TimeSpan.FromHours(1);

    /// <summary>Scores the handbook.</summary>
    /// <param name="spot">Kind and place of the ground.</param>
    /// <param name="scenes">The surfaces, in any order.</param>
    /// <param name="weather">By station, rows in time order; each scene wants those of the three days before it.</param>
    /// <param name="limitCelsius">[°C] From here a scene is hot.</param>
    /// <param name="cancellationToken">Stops between two scenes.</param>
    /// <returns>The scores; a scene without air at its moment is left out.</returns>
    public static HandbookReport Run(
        Spot spot, IReadOnlyList<SurfaceScene> scenes, IReadOnlyDictionary<string, IReadOnlyList<WeatherSample>> weather,
        double limitCelsius, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(spot);
        ArgumentNullException.ThrowIfNull(scenes);
        ArgumentNullException.ThrowIfNull(weather);
        if (scenes.Count == 0)
            return HandbookReport.Of([]);
        var handbook = new OffsetModel(new OffsetOptions()).Prior(spot, scenes.Max(s => s.At));
        var scored = new List<ScoredScene>();
        foreach (var moment in scenes.GroupBy(s => (s.Station, s.At)))
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (!weather.TryGetValue(moment.Key.Station, out var rows) || Before(rows, moment.Key.At) is not { } before)
                continue;
            var estimate = SpotEstimation.At(handbook, spot, before, [moment.Key.At])[0].Value;
            if (!double.IsFinite(estimate.SurfaceCelsius))
                continue;
            var sun = SolarPosition.At(moment.Key.At, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees;
            var month = moment.Key.At.ToUniversalTime().AddHours(spot.LongitudeDegrees / 15).Month;
            scored.AddRange(moment.Select(s => new ScoredScene(
                estimate.SurfaceCelsius - s.SurfaceCelsius, s.SurfaceCelsius > estimate.UpperCelsius,
                IsSummerDay: month is >= 5 and <= 9 && sun > HighSunDegrees, IsHot: s.SurfaceCelsius >= limitCelsius)));
        }

        return HandbookReport.Of(scored);
    }

    /// <summary>The weather up to a moment; <c>null</c> where no row holds it.</summary>
    private static SpotWeather? Before(IReadOnlyList<WeatherSample> rows, DateTimeOffset at)
    {
        var last = WeatherSample.FirstAfter(rows, at - TimeSpan.FromTicks(1));
        if (last == rows.Count || rows[last].At - at >= RowHolds)
            return null;
        var samples = new List<WeatherSample>();
        for (var i = WeatherSample.FirstAfter(rows, at - SpotEstimation.Reach); i <= last; i++)
        {
            var begin = i > 0 && rows[i].At - rows[i - 1].At < RowHolds ? rows[i - 1].At : rows[i].At - RowHolds;
            var end = i < last ? rows[i].At : at + SpotWeather.Step;
            for (var t = begin + SpotWeather.Step; t <= rows[i].At && t < end + TimeSpan.FromTicks(1); t += SpotWeather.Step)
                samples.Add(rows[i] with { At = t, SurfaceCelsius = null });
        }

        return samples.Count == 0 ? null : SpotWeather.Past(samples);
    }
}
