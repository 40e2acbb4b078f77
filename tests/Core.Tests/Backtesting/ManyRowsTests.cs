using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Tests.Offsets;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>More rows than are taken one by one.</summary>
public sealed class ManyRowsTests
{
    private static readonly DateTimeOffset Start = new(2012, 1, 1, 0, 0, 0, TimeSpan.Zero);

    [Fact]
    public void A_year_of_minutes_is_taken_row_by_row()
    {
        var read = Taken(527_040, i => Row(Start.AddMinutes(i), 20, 25));
        Assert.Equal((527_040, null, 0), (read.Rows.Count, read.StepMinutes, read.Remarks.Count));
    }

    [Theory]
    //          row in order         seconds, minutes of a step
    [InlineData(1, 1)]
    [InlineData(30, 5)]
    public void Averages_are_as_short_as_fit_and_stand_where_the_model_puts_them(int spacingSeconds, int stepMinutes)
    {
        const int count = 1_300_000;
        var read = Taken(count, i => Row(Start.AddSeconds((double)spacingSeconds * i), 20 + i % 2, 25));
        Assert.Equal(stepMinutes, read.StepMinutes);
        Assert.Equal(Start, read.Rows[0].At);
        Assert.All(read.Rows.Zip(read.Rows.Skip(1)), pair => Assert.Equal(TimeSpan.FromMinutes(stepMinutes), pair.Second.At - pair.First.At));
        Assert.All(read.Rows.Skip(1).SkipLast(1), row => Published.Near(20.5, row.AirCelsius, 1e-9, "by definition: every other row 20 and 21"));
    }

    [Fact]
    public void Rows_out_of_order_in_a_large_file_end_in_the_same_steps_and_the_first_line_is_named()
    {
        const int count = 1_300_000;
        static WeatherSample Nth(int i) => Row(Start.AddSeconds(30.0 * i), 20 + i % 60 * 0.1, i % 3 == 0 ? null : 25 + i % 7);

        // Blocks of ten thousand, the last first; within a block in order.
        var mixed = Taken(count, i => Nth((count / 10_000 - 1 - i / 10_000) * 10_000 + i % 10_000));
        var plain = Taken(count, Nth);

        Assert.StartsWith("rows were out of order, first at line 10002, and have been sorted by time", mixed.Remarks[0], StringComparison.Ordinal);
        Assert.Equal(plain.Rows.Count, mixed.Rows.Count);
        foreach (var (a, b) in plain.Rows.Zip(mixed.Rows))
        {
            Assert.Equal(a.At, b.At);
            Assert.Equal(a.AirCelsius, b.AirCelsius, 1e-9);
            Assert.Equal(a.SurfaceCelsius ?? double.NaN, b.SurfaceCelsius ?? double.NaN, 1e-9);
            Assert.Equal(a.HumidityPercent!.Value, b.HumidityPercent!.Value, 1e-9);
        }
    }

    [Fact]
    public void A_row_that_stands_twice_in_a_large_file_counts_once()
    {
        var read = Taken(1_400_000, i => Row(Start.AddSeconds(i / 2), 20 + i % 2, 25));
        Assert.Equal("700,000 rows repeated a time; the first of each was kept", read.Remarks[0]);
        Assert.All(read.Rows, row => Assert.Equal(20, row.AirCelsius));
    }

    [Fact]
    public void More_than_a_lifetime_of_hours_has_no_room()
    {
        var intake = new RowIntake();
        for (var i = 0; i < RowIntake.MostRows; i++)
            Assert.True(intake.Add(Row(Start.AddHours(i), 20, 25), i));
        Assert.False(intake.Add(Row(Start.AddHours(RowIntake.MostRows), 20, 25), RowIntake.MostRows));
    }

    [Fact]
    public void A_file_of_seconds_scores_as_the_minutes_it_is_averaged_to()
    {
        var minutes = SimulatedSpot.Days(31, seed: 7, stepMinutes: 1)
            .ConvertAll(r => r with { AirCelsius = Math.Round(r.AirCelsius, 2), SurfaceCelsius = Math.Round(r.SurfaceCelsius!.Value, 2), HumidityPercent = 50 });
        // Fifteen rows a minute; their surface swings by 2 K around the minute's.
        var read = Taken(15 * minutes.Count, i =>
        {
            var minute = minutes[i / 15];
            return Row(minute.At.AddSeconds(4 * (i % 15 - 14)), minute.AirCelsius, minute.SurfaceCelsius + 2 * (i % 15 / 7.0 - 1));
        });
        Assert.Equal(1, read.StepMinutes);

        var exact = Run(minutes);
        var averaged = Run(read.Rows);

        const string why = "our choice: rows are written with 0.01 K, and a mean of fifteen is better than that";
        Assert.Equal(exact.DarkSensor.All.N, averaged.DarkSensor.All.N);
        Published.Near(exact.DarkSensor.All.RmseKelvin!.Value, averaged.DarkSensor.All.RmseKelvin!.Value, 0.005, why);
        Published.Near(exact.DarkSensor.All.BiasKelvin!.Value, averaged.DarkSensor.All.BiasKelvin!.Value, 0.005, why);
        Published.Near(exact.HourOfDayTable.All.RmseKelvin!.Value, averaged.HourOfDayTable.All.RmseKelvin!.Value, 0.005, why);
    }

    private static BacktestReport Run(IReadOnlyList<WeatherSample> rows) => Backtest.Run(
        new BacktestRequest(SimulatedSpot.Plaza, rows) { From = new DateOnly(2030, 7, 25) }, cancellationToken: TestContext.Current.CancellationToken);

    // A file's first row stands on its second line.
    private static BacktestRows Taken(int count, Func<int, WeatherSample> row)
    {
        var intake = new RowIntake();
        for (var i = 0; i < count; i++)
            Assert.True(intake.Add(row(i), i + 2));
        return intake.Finish(withoutAir: 0);
    }

    // As a logger writes it, with two decimals.
    private static WeatherSample Row(DateTimeOffset at, double airCelsius, double? surfaceCelsius) => new(at, Math.Round(airCelsius, 2))
    {
        SurfaceCelsius = surfaceCelsius is { } surface ? Math.Round(surface, 2) : null,
        HumidityPercent = 50,
        WindMetersPerSecond = 2.5,
        SolarWattsPerSquareMeter = 410,
    };
}
