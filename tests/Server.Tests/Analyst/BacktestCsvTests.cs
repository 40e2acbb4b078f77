using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Tables;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Analyst;

public sealed class BacktestCsvTests
{
    private const string Header = "time_utc,air_celsius,surface_celsius,humidity_percent\n";
    private static readonly DateTimeOffset Start = new(2030, 7, 1, 0, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData("", 1, "")]
    [InlineData("time_utc;air_celsius;surface_celsius\n", 1, "")]
    [InlineData("time_utc,air_celsius\n2030-07-01T00:00:00Z,20\n", 1, "surface_celsius")]
    [InlineData("time_utc,air_celsius,air_celsius,surface_celsius\n", 1, "air_celsius")]
    [InlineData(Header, 1, "")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20,1,25,5,50\n", 2, "")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20\n", 2, "")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20,25,50\n2030-07-01 00:30,20,25,50\n", 3, "time_utc")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20,hot,50\n", 2, "surface_celsius")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20,900,50\n", 2, "surface_celsius")]
    [InlineData(Header + "2030-07-01T00:00:00Z,NaN,25,50\n", 2, "air_celsius")]
    [InlineData(Header + "2030-07-01T00:00:00Z,20,25,101\n", 2, "humidity_percent")]
    [InlineData(Header + "2030-02-29T00:00:00Z,20,25,50\n", 2, "time_utc")]
    [InlineData(Header + "2030-07-01T24:00:00Z,20,25,50\n", 2, "time_utc")]
    [InlineData(Header + "9999-12-31T23:59:59Z,20,25,50\n", 2, "time_utc")]
    public void A_file_that_cannot_be_used_is_named_by_line_and_column(string text, int line, string column)
    {
        var fault = Assert.Throws<TableException>(() => Read(new StringReader(text))).Fault;
        Assert.Equal((line, column), (fault.Line, fault.Column));
        Assert.NotEmpty(fault.Remedy);
    }

    [Fact]
    public void The_message_says_where_what_was_found_what_was_expected_and_the_remedy()
    {
        var text = Header + "2030-07-01T00:00:00Z,20,25,50\n2030-07-01 00:30,20,25,50\n";
        Assert.Equal(
            "line 3, column time_utc: '2030-07-01 00:30', expected a time with its zone like 2026-07-14T17:00:00Z; "
            + "convert local times to UTC and end them with Z",
            Assert.Throws<TableException>(() => Read(new StringReader(text))).Message);
    }

    [Fact]
    public void Rows_out_of_order_or_twice_or_without_air_are_handled_and_told()
    {
        var text = "\uFEFF" + Header
            + "2030-07-01T02:00:00+01:00,21,26,51\n2030-07-01T00:00:00Z,20,,\n2030-07-01T00:00:00Z,30,,\n2030-07-01T03:00:00Z,,,\n\n";
        var rows = Read(new StringReader(text));
        Assert.Equal(
            [
                new WeatherSample(new DateTimeOffset(2030, 7, 1, 0, 0, 0, TimeSpan.Zero), 20),
                new WeatherSample(new DateTimeOffset(2030, 7, 1, 1, 0, 0, TimeSpan.Zero), 21) { SurfaceCelsius = 26, HumidityPercent = 51 },
            ],
            rows.Rows);
        Assert.Equal(3, rows.Remarks.Count);
    }

    [Fact]
    public void Columns_may_stand_in_any_order_and_unknown_ones_are_passed_over()
    {
        const string text = "solar_wm2,Station,surface_celsius,air_celsius,wind_mps,time_utc\n-1,X,30,20,2.5,2030-07-01T00:00:00Z\n";
        var row = Assert.Single(Read(new StringReader(text)).Rows);
        Assert.Equal((20, 30, 2.5, 0, null), (row.AirCelsius, row.SurfaceCelsius, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.HumidityPercent));
    }

    [Fact]
    public void A_line_without_end_is_refused_before_it_is_in_memory()
    {
        using var endless = new ManyRows(int.MaxValue, _ => "2030-07-01T00:00:00Z,20,25,50", lineEnd: "");
        var fault = Assert.Throws<TableException>(() => Read(endless)).Fault;
        Assert.Equal((1, "look whether line ends were lost, or whether this is another kind of file"), (fault.Line, fault.Remedy));
    }

    [Theory]
    [InlineData("\n")]
    [InlineData("\r\n")]
    [InlineData("\r")]
    public void Lines_end_as_any_system_ends_them_also_across_what_is_read_at_once(string lineEnd)
    {
        // Rows of growing length, so that line ends fall on each place of the buffer.
        var text = Header.TrimEnd() + lineEnd + string.Concat(Enumerable.Range(0, 20_000).Select(i =>
            $"{Start.AddMinutes(i):yyyy-MM-ddTHH:mm:ssZ},20.{new string('5', i % 7)},25,{lineEnd}"));
        var rows = Read(new StringReader(text));
        Assert.Equal(Enumerable.Range(0, 20_000).Select(i => Start.AddMinutes(i)), rows.Rows.Select(r => r.At));
        Assert.Empty(rows.Remarks);
    }

    [Fact]
    public void Ten_million_rows_are_read_and_averaged_and_that_is_said()
    {
        // Put together from a day's row ends: formatting ten million times would take longer than reading them.
        const int count = 10_000_000;
        var start = new DateTimeOffset(2012, 1, 1, 0, 0, 0, TimeSpan.Zero);
        var ends = Enumerable.Range(0, 1440).Select(i => $",{20 + i % 7}.25,{30 + i % 11}.5,{40 + i % 13}.0,2.5,410.0").ToArray();
        var (day, date) = (-1, "");
        var told = new List<int>();
        using var rows = new ManyRows(count, i =>
        {
            if (i / 1440 != day)
                (day, date) = (i / 1440, $"{start.AddDays(i / 1440):yyyy-MM-dd}");
            var minute = i % 1440;
            return $"{date}T{(char)('0' + minute / 600)}{(char)('0' + minute / 60 % 10)}:{(char)('0' + minute % 60 / 10)}{(char)('0' + minute % 10)}:00Z{ends[minute]}";
        });

        var read = BacktestCsv.Read(rows, new Told(told.Add), TestContext.Current.CancellationToken);

        // Nineteen years of minutes: half hours are the shortest steps of which at most 600,000 span them.
        Assert.Equal(30, read.StepMinutes);
        Assert.Equal(["10,000,000 rows read, averaged to 30-minute steps: errors are those of the means, which scatter less than single rows; up to 600,000 rows are taken one by one"], read.Remarks);
        Assert.Equal(333_335, read.Rows.Count);
        Assert.Equal(count + 1, told[^1]);
        Assert.True(told.Count > 100);
        // The step that ends at 00:30 of the second day holds the minutes 1 to 30 of the day.
        var step = read.Rows[49];
        Assert.Equal(start.AddDays(1).AddMinutes(30), step.At);
        Published.Near(Enumerable.Range(1, 30).Average(i => 20.25 + i % 7), step.AirCelsius, 1e-9, "by definition: the mean");
        Published.Near(Enumerable.Range(1, 30).Average(i => 30.5 + i % 11), step.SurfaceCelsius!.Value, 1e-9, "by definition: the mean");
        Published.Near(410, step.SolarWattsPerSquareMeter!.Value, 1e-9, "by definition: the mean");
    }

    [Fact]
    public void More_than_a_lifetime_of_hours_is_refused_at_its_line()
    {
        var begin = new DateTimeOffset(1900, 1, 1, 0, 0, 0, TimeSpan.Zero);
        using var rows = new ManyRows(700_000, i => ManyRows.Text(begin.AddHours(i), 20, 25, 50));
        var fault = Assert.Throws<TableException>(() => Read(rows)).Fault;
        Assert.Equal((RowIntake.MostRows + 2, "cut the file to the span of interest"), (fault.Line, fault.Remedy));
    }

    private static BacktestRows Read(TextReader text) => BacktestCsv.Read(text, null, TestContext.Current.CancellationToken);

    private sealed class Told(Action<int> tell) : IProgress<int>
    {
        public void Report(int value) => tell(value);
    }
}
