using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Tests.Backtesting;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class OutlierTests
{
    [Theory]
    [InlineData("bondville")]
    [InlineData("hornsgatan")]
    public void Five_percent_wild_readings_and_a_stuck_hour_a_day_cost_at_most_a_tenth(string station)
    {
        var request = Stations.Request(station);
        var clean = request.Rows;
        var spoiled = Spoil(clean);
        Assert.InRange(clean.Zip(spoiled).Count(p => p.First != p.Second), 0.05 * clean.Count, 0.15 * clean.Count);

        var before = RmseKelvin(request, clean, clean);
        var after = RmseKelvin(request, spoiled, clean);
        Assert.True(after <= 1.10 * before, $"{before:F3} K became {after:F3} K, {after / before:F3} times");
    }

    /// <summary>A twentieth of the surface readings 15 K too hot, and each day's readings of one hour stuck at the first of them.</summary>
    private static List<WeatherSample> Spoil(IReadOnlyList<WeatherSample> rows)
    {
        var random = new Random(5);
        var spoiled = new List<WeatherSample>(rows.Count);
        var stuckHour = 0;
        double? stuck = null;
        foreach (var row in rows)
        {
            if (spoiled.Count == 0 || row.At.Date != spoiled[^1].At.Date)
                stuckHour = random.Next(24);
            if (row.At.Hour == stuckHour)
                stuck ??= spoiled.Count > 0 ? spoiled[^1].SurfaceCelsius : null;
            else
                stuck = null;
            var surface = row.SurfaceCelsius is null ? null : stuck ?? row.SurfaceCelsius;
            spoiled.Add(row with { SurfaceCelsius = surface + (random.NextDouble() < 0.05 ? 15 : 0) });
        }

        return spoiled;
    }

    private static double RmseKelvin(
        BacktestRequest request, IReadOnlyList<WeatherSample> seen, IReadOnlyList<WeatherSample> truth)
    {
        var model = new OffsetModel(new OffsetOptions());
        double squares = 0;
        var count = 0;
        var utcMinusLocal = TimeSpan.FromHours(-Math.Round(request.Spot.LongitudeDegrees / 15));
        // Every second day: each is fitted anew.
        for (var day = request.From!.Value; day <= request.To!.Value; day = day.AddDays(2))
        {
            var midnight = new DateTimeOffset(day.ToDateTime(TimeOnly.MinValue), TimeSpan.Zero) + utcMinusLocal;
            var past = seen.TakeWhile(r => r.At <= midnight).Select(Inputs).ToList();
            var today = truth.Skip(past.Count).TakeWhile(r => r.At <= midnight.AddDays(1)).ToList();
            var weather = past.SkipWhile(r => r.At < midnight.AddDays(-3))
                .Concat(today.Select(r => Inputs(r) with { SurfaceCelsius = null })).ToList();
            var estimates = model.Estimate(
                model.Fit(request.Spot, past, midnight), request.Spot, weather, [.. today.Select(r => r.At)]);
            foreach (var (row, estimate) in today.Zip(estimates).Where(p => p.First.SurfaceCelsius is not null))
            {
                squares += Math.Pow(estimate.SurfaceCelsius - row.SurfaceCelsius!.Value, 2);
                count++;
            }
        }

        return Math.Sqrt(squares / count);
    }

    private static WeatherSample Inputs(WeatherSample row) => row with { WindMetersPerSecond = null, SolarWattsPerSquareMeter = null };
}
