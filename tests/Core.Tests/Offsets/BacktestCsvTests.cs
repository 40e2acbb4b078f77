using PavementWatch.Core.Offsets;

namespace PavementWatch.Core.Tests.Offsets;

public sealed class BacktestCsvTests
{
    private const string Header = "time_utc,air_celsius,surface_celsius,humidity_percent\n";

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
    public void A_file_that_cannot_be_used_is_named_by_line_and_column(string text, int line, string column)
    {
        var fault = Assert.IsType<BacktestCsvFault>(BacktestCsv.Read(new StringReader(text)));
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
            BacktestCsv.Read(new StringReader(text)).ToString());
    }

    [Fact]
    public void Rows_out_of_order_or_twice_or_without_air_are_handled_and_told()
    {
        var text = "\uFEFF" + Header
            + "2030-07-01T02:00:00+01:00,21,26,51\n2030-07-01T00:00:00Z,20,,\n2030-07-01T00:00:00Z,30,,\n2030-07-01T03:00:00Z,,,\n\n";
        var rows = Assert.IsType<BacktestRows>(BacktestCsv.Read(new StringReader(text)));
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
        var row = Assert.Single(Assert.IsType<BacktestRows>(BacktestCsv.Read(new StringReader(text))).Rows);
        Assert.Equal((20, 30, 2.5, 0, null), (row.AirCelsius, row.SurfaceCelsius, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.HumidityPercent));
    }

    [Fact]
    public void A_file_of_more_rows_than_are_read_is_refused_at_the_line()
    {
        var fault = Assert.IsType<BacktestCsvFault>(BacktestCsv.Read(new Endless()));
        Assert.Equal(BacktestCsv.MostRows + 2, fault.Line);
        Assert.Equal("cut the file to the span of interest", fault.Remedy);
    }

    /// <summary>A file that does not end.</summary>
    private sealed class Endless : TextReader
    {
        private bool _begun;

        public override string ReadLine()
        {
            if (_begun)
                return "2030-07-01T00:00:00Z,20,25,50";
            _begun = true;
            return Header.TrimEnd();
        }
    }
}
