using System.Text.Json;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Sun;
using PavementWatch.Core.Weather;
using static PavementWatch.Core.Tests.Offsets.SimulatedSpot;

namespace PavementWatch.Core.Tests.Offsets;

/// <summary>How far out the ends of an interval lie on the hottest hours.</summary>
public sealed class IntervalEndsTests
{
    private static readonly OffsetModel Model = new(new OffsetOptions());

    [Theory]
    //          expected, clear sun, heat
    [InlineData(39.9, 800, 0)]
    [InlineData(40, 800, 0)]
    [InlineData(45, 800, 0.5)]
    [InlineData(50, 800, 1)]
    [InlineData(60, 800, 2)]
    [InlineData(70, 800, 3)]
    [InlineData(99, 800, 3)]
    [InlineData(50, 300, 1)]
    [InlineData(50, 150, 0.5)]
    [InlineData(99, 0, 0)]
    public void Heat_grows_with_what_is_expected_and_needs_a_sun(double expectedCelsius, double clearSun, double heat)
    {
        var ends = new IntervalEnds(40, 50, 0.8, 0.2);
        Assert.Equal(heat, ends.HeatAt(expectedCelsius, clearSun), 12);
        Assert.Equal((1 + 0.8 * heat, 1 + 0.2 * heat), (ends.Upper(heat), ends.Lower(heat)));
    }

    [Fact]
    public void Where_hot_hours_err_more_the_upper_end_follows_and_nine_in_ten_hold_all_the_same()
    {
        var days = Uneven(seed: 21);
        var (all, hottest) = Told(days);
        // An interval of one width for each hour of the day misses these; that is what the ends are for.
        Assert.InRange(hottest.Plain, 10, 40);
        Assert.InRange(hottest.Above, 0, 7);
        Assert.InRange(all.Inside, 86, 96);
    }

    [Fact]
    public void The_record_counts_what_the_last_days_held()
    {
        var fit = Model.Fit(Plaza, Uneven(seed: 22), Start.AddDays(60));
        var record = fit.Record!;
        Assert.Equal((30, 30 * 48, 3 * 48), (record.Days, record.Count, record.HottestCount));
        Assert.InRange(record.InsidePercent, 86, 95);
        Assert.InRange(record.HottestAbovePercent, 0, 15);
        Assert.InRange(record.HottestInside + record.HottestAbove, 1, record.HottestCount);
        // The whole window's, which has other days in it.
        Assert.NotEqual(fit.IntervalCoveragePercent, record.InsidePercent);
    }

    [Fact]
    public void The_first_week_knows_of_no_ends_and_the_first_days_of_no_record()
    {
        Assert.All(Model.Fit(Plaza, Days(7, seed: 3), Start.AddDays(7)).Parts, p => Assert.Null(p.Ends));
        Assert.All(Model.Fit(Plaza, Days(4, seed: 3), Start.AddDays(4)).Parts, p => Assert.Null(p.Record));
        Assert.Null(Model.Prior(Plaza, Start).Record);
        Assert.InRange(Model.Fit(Plaza, Days(8, seed: 3), Start.AddDays(8)).Record!.Days, 3, 5);
    }

    [Fact]
    public void A_fit_from_before_ends_were_learnt_is_read_and_its_interval_is_even()
    {
        var days = Days(20, seed: 5);
        var fit = Model.Fit(Plaza, days, Start.AddDays(20));
        Assert.All(fit.Parts, p => Assert.True(p.Ends is not null && p.Record is not null));
        var older = fit with { Parts = [.. fit.Parts.Select(p => p with { Ends = null, Record = null, Lean = null })] };
        var json = JsonSerializer.Serialize(older).Replace("\"Ends\":null,\"Record\":null,", "", StringComparison.Ordinal);
        Assert.DoesNotContain("Ends", json, StringComparison.Ordinal);
        var back = JsonSerializer.Deserialize<OffsetFit>(json)!;
        Assert.Null(back.Record);
        var blind = days.Select(d => d with { SurfaceCelsius = null }).ToList();
        Assert.All(Model.Estimate(back, Plaza, blind, [.. blind.TakeLast(48).Select(d => d.At)]), e =>
            Assert.Equal(e.SurfaceCelsius - e.LowerCelsius, e.UpperCelsius - e.SurfaceCelsius, 9));
    }

    /// <summary>Whole days are warmer or cooler than others; on the warm ones the sun adds or takes what neither air nor hour tell.</summary>
    private static List<WeatherSample> Uneven(int seed)
    {
        var random = new Random(seed);
        var warmth = Enumerable.Range(0, 90).Select(_ => 8 * random.NextDouble() - 4).ToArray();
        var untold = warmth.Select(w => w > 1 ? 5 * random.NextDouble() - 2.5 : 0).ToArray();
        return [.. Days(90).Select((d, i) =>
        {
            var day = i / 48;
            var sun = ClearSky.GlobalWattsPerSquareMeter(SolarPosition.At(d.At, Plaza.LatitudeDegrees, Plaza.LongitudeDegrees).ElevationDegrees);
            var noise = 0.8 * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5);
            return d with
            {
                AirCelsius = d.AirCelsius + warmth[day],
                SurfaceCelsius = d.SurfaceCelsius + warmth[day] + untold[day] * sun / 900 + noise,
            };
        })];
    }

    /// <summary>Thirty days, each by the fit of its beginning: what held, and of the tenth expected hottest what lay over the end, with and without its growth.</summary>
    private static ((double Inside, int Count) All, (double Above, double Plain) Hottest) Told(List<WeatherSample> days)
    {
        var told = new List<(double Expected, bool Inside, bool Above, bool Plain)>();
        for (var day = 60; day < 90; day++)
        {
            var fit = Model.Fit(Plaza, days, Start.AddDays(day));
            var plain = fit with { Parts = [.. fit.Parts.Select(p => p with { Ends = null, Lean = null })] };
            var rows = days.Skip((day - 3) * 48).Take(4 * 48).ToList();
            var blind = rows.Select(r => r with { SurfaceCelsius = null }).ToList();
            var at = rows.Skip(3 * 48).ToList();
            foreach (var ((row, e), p) in at.Zip(Model.Estimate(fit, Plaza, blind, [.. at.Select(r => r.At)])).Zip(Model.Estimate(plain, Plaza, blind, [.. at.Select(r => r.At)])))
            {
                told.Add((
                    e.SurfaceCelsius, row.SurfaceCelsius >= e.LowerCelsius && row.SurfaceCelsius <= e.UpperCelsius,
                    row.SurfaceCelsius > e.UpperCelsius, row.SurfaceCelsius > p.UpperCelsius));
            }
        }

        var hottest = told.OrderByDescending(t => t.Expected).Take(told.Count / 10).ToList();
        return ((100.0 * told.Count(t => t.Inside) / told.Count, told.Count),
            (100.0 * hottest.Count(t => t.Above) / hottest.Count, 100.0 * hottest.Count(t => t.Plain) / hottest.Count));
    }
}
