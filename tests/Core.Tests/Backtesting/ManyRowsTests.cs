using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Tests.Offsets;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>Files too large to be taken row by row.</summary>
public sealed class ManyRowsTests
{
    private static readonly DateTimeOffset Start = new(2012, 1, 1, 0, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Ten_million_rows_are_read_and_averaged_and_that_is_said()
    {
        // Put together from a day's row ends: formatting ten million times would take longer than reading them.
        const int count = 10_000_000;
        var ends = Enumerable.Range(0, 1440).Select(i => $",{20 + i % 7}.25,{30 + i % 11}.5,{40 + i % 13}.0,2.5,410.0").ToArray();
        var (day, date) = (-1, "");
        var told = new List<int>();
        using var rows = new ManyRows(count, i =>
        {
            if (i / 1440 != day)
                (day, date) = (i / 1440, $"{Start.AddDays(i / 1440):yyyy-MM-dd}");
            var minute = i % 1440;
            return $"{date}T{(char)('0' + minute / 600)}{(char)('0' + minute / 60 % 10)}:{(char)('0' + minute % 60 / 10)}{(char)('0' + minute % 10)}:00Z{ends[minute]}";
        });

        var read = Assert.IsType<BacktestRows>(BacktestCsv.Read(rows, new Told(told.Add), TestContext.Current.CancellationToken));

        // Nineteen years of minutes: half hours are the shortest steps of which at most 600,000 span them.
        Assert.Equal(30, read.StepMinutes);
        Assert.Equal(["10,000,000 rows read, averaged to 30-minute steps: errors are those of the means, which scatter less than single rows; up to 600,000 rows are taken one by one"], read.Remarks);
        Assert.Equal(333_335, read.Rows.Count);
        Assert.Equal(count + 1, told[^1]);
        Assert.True(told.Count > 100);
        // The step that ends at 00:30 of the second day holds the minutes 1 to 30 of the day.
        var step = read.Rows[49];
        Assert.Equal(Start.AddDays(1).AddMinutes(30), step.At);
        Published.Near(Enumerable.Range(1, 30).Average(i => 20.25 + i % 7), step.AirCelsius, 1e-9, "by definition: the mean");
        Published.Near(Enumerable.Range(1, 30).Average(i => 30.5 + i % 11), step.SurfaceCelsius!.Value, 1e-9, "by definition: the mean");
        Published.Near(410, step.SolarWattsPerSquareMeter!.Value, 1e-9, "by definition: the mean");
    }

    [Fact]
    public void A_year_of_minutes_is_taken_row_by_row()
    {
        using var rows = new ManyRows(527_040, i => ManyRows.Text(Start.AddMinutes(i), 20, 25, 50));
        var read = Assert.IsType<BacktestRows>(BacktestCsv.Read(rows, null, TestContext.Current.CancellationToken));
        Assert.Equal((527_040, null, 0), (read.Rows.Count, read.StepMinutes, read.Remarks.Count));
    }

    [Theory]
    //          row in order         seconds, minutes of a step
    [InlineData(1, 1)]
    [InlineData(30, 5)]
    public void Averages_are_as_short_as_fit_and_stand_where_the_model_puts_them(int spacingSeconds, int stepMinutes)
    {
        const int count = 1_300_000;
        using var rows = new ManyRows(count, i => ManyRows.Text(Start.AddSeconds((double)spacingSeconds * i), 20 + i % 2, 25, 50));
        var read = Assert.IsType<BacktestRows>(BacktestCsv.Read(rows, null, TestContext.Current.CancellationToken));
        Assert.Equal(stepMinutes, read.StepMinutes);
        Assert.Equal(Start, read.Rows[0].At);
        Assert.All(read.Rows.Zip(read.Rows.Skip(1)), pair => Assert.Equal(TimeSpan.FromMinutes(stepMinutes), pair.Second.At - pair.First.At));
        Assert.All(read.Rows.Skip(1).SkipLast(1), row => Published.Near(20.5, row.AirCelsius, 1e-9, "by definition: every other row 20 and 21"));
    }

    [Fact]
    public void Rows_out_of_order_in_a_large_file_end_in_the_same_steps_and_the_first_line_is_named()
    {
        const int count = 1_300_000;
        string Row(int i) => ManyRows.Text(Start.AddSeconds(30.0 * i), 20 + i % 60 * 0.1, i % 3 == 0 ? null : 25 + i % 7, 50);
        // Blocks of ten thousand, the last first; within a block in order.
        using var shuffled = new ManyRows(count, i => Row((count / 10_000 - 1 - i / 10_000) * 10_000 + i % 10_000));
        using var sorted = new ManyRows(count, Row);

        var mixed = Assert.IsType<BacktestRows>(BacktestCsv.Read(shuffled, null, TestContext.Current.CancellationToken));
        var plain = Assert.IsType<BacktestRows>(BacktestCsv.Read(sorted, null, TestContext.Current.CancellationToken));

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
        using var rows = new ManyRows(1_400_000, i => ManyRows.Text(Start.AddSeconds(i / 2), 20 + i % 2, 25, 50));
        var read = Assert.IsType<BacktestRows>(BacktestCsv.Read(rows, null, TestContext.Current.CancellationToken));
        Assert.Equal("700,000 rows repeated a time; the first of each was kept", read.Remarks[0]);
        Assert.All(read.Rows, row => Assert.Equal(20, row.AirCelsius));
    }

    [Fact]
    public void More_than_a_lifetime_of_hours_is_refused_at_its_line()
    {
        var begin = new DateTimeOffset(1900, 1, 1, 0, 0, 0, TimeSpan.Zero);
        using var rows = new ManyRows(700_000, i => ManyRows.Text(begin.AddHours(i), 20, 25, 50));
        var fault = Assert.IsType<BacktestCsvFault>(BacktestCsv.Read(rows, null, TestContext.Current.CancellationToken));
        Assert.Equal(BacktestCsv.MostRows + 2, fault.Line);
        Assert.Equal("cut the file to the span of interest", fault.Remedy);
    }

    [Fact]
    public void A_file_of_seconds_scores_as_the_minutes_it_is_averaged_to()
    {
        var minutes = SimulatedSpot.Days(31, seed: 7, stepMinutes: 1)
            .ConvertAll(r => r with { AirCelsius = Math.Round(r.AirCelsius, 2), SurfaceCelsius = Math.Round(r.SurfaceCelsius!.Value, 2), HumidityPercent = 50 });
        // Fifteen rows a minute; their surface swings by 2 K around the minute's.
        using var seconds = new ManyRows(15 * minutes.Count, i =>
        {
            var minute = minutes[i / 15];
            return ManyRows.Text(minute.At.AddSeconds(4 * (i % 15 - 14)), minute.AirCelsius, minute.SurfaceCelsius + 2 * (i % 15 / 7.0 - 1), 50);
        });
        var read = Assert.IsType<BacktestRows>(BacktestCsv.Read(seconds, null, TestContext.Current.CancellationToken));
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

    private sealed class Told(Action<int> tell) : IProgress<int>
    {
        public void Report(int value) => tell(value);
    }
}
