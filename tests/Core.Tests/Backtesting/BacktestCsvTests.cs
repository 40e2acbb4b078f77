using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Weather;


namespace PavementWatch.Core.Tests.Backtesting;

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
        var fault = Assert.IsType<BacktestCsvFault>(Read(new StringReader(text)));
        Assert.Equal((line, column), (fault.Line, fault.Column));
        Assert.NotEmpty(fault.Remedy);
    }

    [Fact]
    public void The_message_says_where_what_was_found_what_was_expected_and_the_remedy()
    {
        var text = Header + "2030-07-01T00:00:00Z,20,25,50\n2030-07-01 00:30,20,25,50\n";
        Assert.Equal(
            "line 3, column time_utc: '2030-07-01 00:30', expected a time with its zone like 1998-06-01T12:30:00Z; "
            + "convert local times to UTC and end them with Z",
            Read(new StringReader(text)).ToString());
    }

    [Fact]
    public void Rows_out_of_order_or_twice_or_without_air_are_handled_and_told()
    {
        var text = "\uFEFF" + Header
            + "2030-07-01T02:00:00+01:00,21,26,51\n2030-07-01T00:00:00Z,20,,\n2030-07-01T00:00:00Z,30,,\n2030-07-01T03:00:00Z,,,\n\n";
        var rows = Assert.IsType<BacktestRows>(Read(new StringReader(text)));
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
        var row = Assert.Single(Assert.IsType<BacktestRows>(Read(new StringReader(text))).Rows);
        Assert.Equal((20, 30, 2.5, 0, null), (row.AirCelsius, row.SurfaceCelsius, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.HumidityPercent));
    }

    [Fact]
    public void A_line_without_end_is_refused_before_it_is_in_memory()
    {
        var fault = Assert.IsType<BacktestCsvFault>(Read(new ManyRows(int.MaxValue, _ => "2030-07-01T00:00:00Z,20,25,50", lineEnd: "")));
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
        var rows = Assert.IsType<BacktestRows>(Read(new StringReader(text)));
        Assert.Equal(Enumerable.Range(0, 20_000).Select(i => Start.AddMinutes(i)), rows.Rows.Select(r => r.At));
        Assert.Empty(rows.Remarks);
    }

    private static BacktestCsvOutcome Read(TextReader text) => BacktestCsv.Read(text, null, TestContext.Current.CancellationToken);
}
