using PavementWatch.Core.Offsets;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>Replays a file of measurements as if each night's fit had been made on the past alone.</summary>
public static class Backtest
{
    /// <summary>[h] Ages of the last surface reading that are scored.</summary>
    public static IReadOnlyList<double> Ages { get; } = [0.5, 1, 2, 3, 6];

    private const double DayFromDegrees = 6;
    private const int TableDays = 14;
    private const int LeastTrainingDays = 3;

    /// <summary>Runs the backtest with the default options.</summary>
    /// <param name="request">What to backtest.</param>
    /// <param name="progress">Told the share done, 0 to 1; may be <c>null</c>.</param>
    /// <param name="cancellationToken">Stops between two days.</param>
    /// <returns>The scores.</returns>
    public static BacktestReport Run(
        BacktestRequest request, IProgress<double>? progress = null, CancellationToken cancellationToken = default) =>
        Run(request, new OffsetOptions(), progress, cancellationToken);

    /// <summary>Runs the backtest.</summary>
    /// <param name="request">What to backtest.</param>
    /// <param name="options">How to fit.</param>
    /// <param name="progress">Told the share done, 0 to 1; may be <c>null</c>.</param>
    /// <param name="cancellationToken">Stops between two days.</param>
    /// <returns>The scores.</returns>
    public static BacktestReport Run(
        BacktestRequest request, OffsetOptions options, IProgress<double>? progress, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(request);
        var rows = request.Rows.Select(row => Keep(row, request.Inputs)).ToList();
        var days = DayOfRows.Cut(request.Rows, request.Spot, request.TimeZone);
        var scored = new List<ScoredRow>();
        var wanted = days.Where((day, index) =>
            (request.From is { } from ? day.Day >= from : index >= LeastTrainingDays)
            && day.Day <= (request.To ?? DateOnly.MaxValue)).ToList();
        for (var d = 0; d < wanted.Count; d++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            Score(options, request, rows, days, wanted[d], scored);
            progress?.Report((d + 1.0) / wanted.Count);
        }

        return Report(scored, request.LimitCelsius ?? request.Spot.LimitCelsius);
    }

    private static void Score(
        OffsetOptions options, BacktestRequest request, List<WeatherSample> rows, IReadOnlyList<DayOfRows> days, DayOfRows day,
        List<ScoredRow> scored)
    {
        var spot = request.Spot;
        // Nothing later than the day's beginning is looked at.
        var fit = new OffsetModel(options).Fit(spot, InputsAtHand.ForLearning(Window(rows, options, day.Begin)), day.Begin);
        var table = HourTable(rows, days, day);
        var from = day.First;
        while (from > 0 && rows[from - 1].At > day.Begin - SpotEstimation.Reach)
            from--;

        // All weather up to the day's end; each estimate looks only back from its own moment.
        var weather = rows[from..day.End];
        var dark = new SpotEstimation(fit, spot, SpotWeather.Past([.. weather.Select(r => r.At > day.Begin ? r with { SurfaceCelsius = null } : r)]), day.Finish);
        var seeing = new SpotEstimation(fit, spot, SpotWeather.Past(weather), day.Finish);
        for (var i = day.First; i < day.End; i++)
        {
            if (rows[i].SurfaceCelsius is not { } surface)
                continue;
            var now = rows[i].At;
            var nowcasts = new SurfaceEstimate?[Ages.Count];
            for (var a = 0; a < Ages.Count; a++)
            {
                var last = now - TimeSpan.FromHours(Ages[a]);
                var at = rows.BinarySearch(from, i - from, new WeatherSample(last, 0), ByTime.Instance);
                if (at < 0 || rows[at].SurfaceCelsius is null)
                    continue;
                nowcasts[a] = seeing.At(now, last).Value;
            }

            var hour = now.AddMinutes(-1).ToOffset(day.Offset).Hour;
            scored.Add(new ScoredRow(
                day.Day, now, SolarPosition.At(now, spot.LatitudeDegrees, spot.LongitudeDegrees).ElevationDegrees > DayFromDegrees,
                surface, dark.At(now).Value, rows[i].AirCelsius + table[hour], nowcasts));
        }
    }

    /// <summary>What the nightly fit reads: its window, and a day more for the lagged features of the first day.</summary>
    private static List<WeatherSample> Window(List<WeatherSample> rows, OffsetOptions options, DateTimeOffset now) =>
        rows[WeatherSample.FirstAfter(rows, now - options.Window - TimeSpan.FromDays(1))..WeatherSample.FirstAfter(rows, now)];

    /// <summary>Median offset by local hour of the trailing days; an hour never seen takes the mean of all.</summary>
    private static double[] HourTable(List<WeatherSample> rows, IReadOnlyList<DayOfRows> days, DayOfRows day)
    {
        var hours = new List<double>[24];
        for (var h = 0; h < 24; h++)
            hours[h] = [];
        foreach (var past in days.Where(d => d.Day < day.Day && d.Day >= day.Day.AddDays(-TableDays)))
        {
            for (var i = past.First; i < past.End; i++)
            {
                if (rows[i].SurfaceCelsius is { } surface)
                    hours[rows[i].At.AddMinutes(-1).ToOffset(past.Offset).Hour].Add(surface - rows[i].AirCelsius);
            }
        }

        var all = hours.SelectMany(h => h).DefaultIfEmpty(0).Average();
        return Array.ConvertAll(hours, h => h.Count > 0 ? Robust.Median([.. h]) : all);
    }

    private static BacktestReport Report(List<ScoredRow> scored, double limit)
    {
        return new BacktestReport(
            new DarkSensorScores(
                Score(scored, s => s.Dark.SurfaceCelsius),
                Score(scored.Where(s => s.Sunny), s => s.Dark.SurfaceCelsius),
                Interval(scored, s => s.Dark)),
            new Scores(Score(scored, s => s.Table), Score(scored.Where(s => s.Sunny), s => s.Table)),
            [.. Ages.Select((age, a) =>
            {
                var known = scored.Where(s => s.Nowcasts[a] is not null).ToList();
                return new NowcastScores(
                    age,
                    Score(known, s => s.Nowcasts[a]!.Value.SurfaceCelsius),
                    Score(known.Where(s => s.Sunny), s => s.Nowcasts[a]!.Value.SurfaceCelsius),
                    Interval(known, s => s.Nowcasts[a]!.Value));
            })],
            Crossings(scored, limit),
            Hottest(scored));
    }

    private static HottestScores Hottest(List<ScoredRow> scored)
    {
        var tenth = (scored.Count + 9) / 10;
        var expected = scored.Where(s => double.IsFinite(s.Dark.SurfaceCelsius)).OrderByDescending(s => s.Dark.SurfaceCelsius).Take(tenth).ToList();
        var score = Score(expected, s => s.Dark.SurfaceCelsius);
        var interval = Interval(expected, s => s.Dark);
        return new HottestScores(
            score.N, score.RmseKelvin, score.MaeKelvin, score.BiasKelvin, interval.CoveragePercent, interval.AboveUpperPercent,
            Score(scored.OrderByDescending(s => s.Surface).Take(tenth), s => s.Dark.WarningCelsius));
    }

    private static ErrorScore Score(IEnumerable<ScoredRow> rows, Func<ScoredRow, double> estimate)
    {
        var errors = rows.Select(r => estimate(r) - r.Surface).Where(double.IsFinite).ToList();
        return errors.Count == 0
            ? new ErrorScore(0, null, null, null)
            : new ErrorScore(
                errors.Count, Math.Sqrt(errors.Average(e => e * e)), errors.Average(Math.Abs), errors.Average());
    }

    private static IntervalScore Interval(List<ScoredRow> rows, Func<ScoredRow, SurfaceEstimate> estimate)
    {
        if (rows.Count == 0)
            return new IntervalScore(null, null, null);
        var inside = rows.Count(r => r.Surface >= estimate(r).LowerCelsius && r.Surface <= estimate(r).UpperCelsius);
        return new IntervalScore(
            100.0 * inside / rows.Count, rows.Average(r => estimate(r).UpperCelsius - estimate(r).LowerCelsius),
            100.0 * rows.Count(r => r.Surface > estimate(r).UpperCelsius) / rows.Count);
    }

    private static CrossingScores Crossings(List<ScoredRow> scored, double limit)
    {
        var hits = new List<double>();
        var misses = 0;
        var falseAlarms = 0;
        foreach (var day in scored.GroupBy(s => s.Day))
        {
            var rows = day.ToList();
            var measured = FirstCrossing(rows, r => r.Surface, limit);
            var estimated = FirstCrossing(rows, r => r.Dark.WarningCelsius, limit);
            if (measured is { } m && estimated is { } e)
                hits.Add((e - m).TotalMinutes);
            else if (measured is not null)
                misses++;
            else if (estimated is not null)
                falseAlarms++;
        }

        return new CrossingScores(
            limit, hits.Count, misses, falseAlarms, hits.Count > 0 ? Robust.Median([.. hits]) : null);
    }

    /// <summary>When a day's curve first reaches the limit, between rows in proportion.</summary>
    private static DateTimeOffset? FirstCrossing(List<ScoredRow> rows, Func<ScoredRow, double> value, double limit)
    {
        for (var i = 0; i < rows.Count; i++)
        {
            var here = value(rows[i]);
            if (!(here >= limit))
                continue;
            if (i == 0 || !(value(rows[i - 1]) < limit))
                return rows[i].At;
            var before = value(rows[i - 1]);
            return rows[i - 1].At + (limit - before) / (here - before) * (rows[i].At - rows[i - 1].At);
        }

        return null;
    }

    private static WeatherSample Keep(WeatherSample row, OffsetInputs inputs) => row with
    {
        HumidityPercent = inputs.HasFlag(OffsetInputs.Humidity) ? row.HumidityPercent : null,
        WindMetersPerSecond = inputs.HasFlag(OffsetInputs.Wind) ? row.WindMetersPerSecond : null,
        SolarWattsPerSquareMeter = inputs.HasFlag(OffsetInputs.Solar) ? row.SolarWattsPerSquareMeter : null,
    };

    private sealed record ScoredRow(
        DateOnly Day, DateTimeOffset At, bool Sunny, double Surface, SurfaceEstimate Dark, double Table,
        SurfaceEstimate?[] Nowcasts);

    private sealed class ByTime : IComparer<WeatherSample>
    {
        public static readonly ByTime Instance = new();

        public int Compare(WeatherSample x, WeatherSample y) => x.At.CompareTo(y.At);
    }
}
