using PavementWatch.Core.Quantities;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Tables;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Tables;

/// <summary>Tables of measurements, whatever they are of, are read and refused alike.</summary>
public sealed class TableReaderTests
{
    // Good for all of them: each passes over what it does not know.
    private const string Header = "time_utc,surface_celsius,air_celsius,wind_mps\n";

    private const string Good = "2026-07-14T16:00:00Z,50,31,2.5\n";

    private static readonly string[] Kinds = ["backtest", "weather", "readings", "checks"];

    [Theory]
    [InlineData("", "line 1: an empty file, expected a line like ")]
    [InlineData("\n" + Header + Good, "line 1: an empty file, expected a line like ")]
    [InlineData("surface_celsius,air_celsius\n50,31\n", "line 1, column time_utc: no such column, expected ")]
    [InlineData("time_utc;surface_celsius;air_celsius\n2026-07-14T16:00:00Z;50,5;31\n", "line 1: columns parted by ';' or tabs, expected columns parted by ','; write commas between cells and decimal points in numbers")]
    [InlineData("time_utc\tsurface_celsius\tair_celsius\n", "line 1: columns parted by ';' or tabs, expected columns parted by ','")]
    [InlineData("time_utc,surface_celsius,air_celsius,Time_UTC\n", "line 1, column time_utc: the column twice, expected each column once; remove one of them")]
    [InlineData(Header + Good + "2026-07-14T16:10:00Z,50,31\n", "line 3: 3 cells, expected 4 as in the header; fill the row up; an empty cell is not known")]
    [InlineData(Header + Good + "\n \n2026-07-14T16:10:00Z,50,5,31,2,5\n", "line 5: 6 cells, expected 4 as in the header; write numbers with a decimal point, not a decimal comma, and put text with commas in quotes")]
    [InlineData(Header + "2026-07-14T16:00:00Z,\"50,5\",\"31,5\",2\n", "_celsius: '")]
    [InlineData(Header + "2026-07-14T16:00:00Z,\"50,5\",\"31,5\",2\n", "; replace the decimal comma by a point")]
    [InlineData(Header + "2026-07-14T16:00:00,50,31,2\n", "line 2, column time_utc: '2026-07-14T16:00:00', expected a time with its zone like 2026-07-14T17:00:00Z; ")]
    [InlineData(Header + "1604-07-14T16:00:00Z,50,31,2\n", "line 2, column time_utc: '1604-07-14T16:00:00Z', expected a time from 1900 to 2200; correct the year")]
    [InlineData(Header + Good + "\"2026-07-14\"T16:10:00Z,50,31,2.5\n", "line 3, column time_utc: a quote inside a cell, expected the whole cell in quotes, and each quote in it twice; write it so")]
    [InlineData(Header + Good + "2026-07-14T16:10:00Z,50,\"31,2.5\n2026-07-14T16:20:00Z,50,31,2.5\n", "line 3: a quote that is not closed, expected one at the end of its cell; close it; a cell is one line")]
    [InlineData(Header + Good + "\"2026-07-14T16:10:00Z,50,31,2.5", "line 3: a quote that is not closed")]
    public void Each_kind_is_refused_in_the_same_words(string text, string says)
    {
        foreach (var kind in Kinds)
            Assert.Contains(says, Read(kind, text).Fault, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0, null)]
    [InlineData(1, "line 3: a line of more than 8192 characters, expected a row of measurements; look whether line ends were lost, or whether this is another kind of file")]
    [InlineData(20_000, "line 3: a line of more than 8192 characters")]
    public void A_line_is_at_most_8192_characters_long(int more, string? says)
    {
        var row = "2026-07-14T16:10:00Z,50,31,2.5,";
        var text = Header.TrimEnd() + ",remark\n" + Good.TrimEnd() + ",\n" + row + new string('x', TableReader.LongestLine - row.Length + more) + "\n" + Good.Replace("16:00", "16:20", StringComparison.Ordinal).TrimEnd() + ",\n";
        foreach (var kind in Kinds)
        {
            var (rows, _, fault) = Read(kind, text);
            if (says is null)
                Assert.Equal((3, null), (rows, fault));
            else
                Assert.StartsWith(says, fault, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Many_blank_lines_are_no_long_one()
    {
        foreach (var kind in Kinds)
            Assert.Equal((2, null), Two(Read(kind, Header + new string('\n', 100_000) + Good + new string('\n', 100_000) + Good.Replace("16:00", "16:20", StringComparison.Ordinal))));
    }

    [Theory]
    [InlineData("\n")]
    [InlineData("\r\n")]
    [InlineData("\r")]
    public void Marks_quotes_blanks_and_line_ends_are_taken_as_programs_write_them(string lineEnd)
    {
        var text = string.Join(
            lineEnd, "\uFEFF\"Time_UTC\", \"surface_celsius\" ,AIR_CELSIUS,\"spot's \"\"own\"\" name\"", "\"2026-07-14T16:00:00Z\", 50 , \"31\" ,\"a, b\"", "",
            "2026-07-14T18:10:00.25+02:00,+5e1,31,5\" pipe", "");
        foreach (var kind in Kinds)
            Assert.Equal((2, null), Two(Read(kind, text)));
    }

    [Fact]
    public void Columns_stand_in_any_order_and_what_is_passed_over_is_named()
    {
        const string text = "note 1,air_celsius,note 2,time_utc,Lane,surface_celsius,lane,\n,31,,2026-07-14T16:00:00Z,3,50,4,\n";
        foreach (var kind in Kinds)
        {
            var (rows, remarks, fault) = Read(kind, text);
            Assert.Equal((1, null), (rows, fault));
            var also = kind switch { "weather" => ", surface_celsius", "checks" => "air_celsius, ", _ => "" };
            Assert.Equal(
                kind == "checks" ? "columns passed over: note 1, air_celsius, note 2, lane" : $"columns passed over: note 1, note 2, lane{also}",
                Assert.Single(remarks));
        }

        var many = string.Join(',', Enumerable.Range(1, 30).Select(i => $"n{i}"));
        Assert.Equal(
            ["columns passed over: n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 and 20 more"],
            Read("weather", $"time_utc,air_celsius,{many}\n2026-07-14T16:00:00Z,31{new string(',', 30)}\n").Remarks);
    }

    [Fact]
    public void A_number_outside_its_range_is_named_with_the_range_and_its_unit()
    {
        using var table = new TableReader(new StringReader("air_celsius\n-60\n60\n\n x \n60.1\n"), "air_celsius");
        var air = table.Required("air_celsius", QuantityRanges.Air);
        Assert.Equal((true, -60, true, 60.0), (table.Next(), table.Number(air), table.Next(), table.Number(air)));
        Assert.True(table.Next());
        Assert.Equal(
            "line 5, column air_celsius: 'x', expected a number from -60 to 60 °C or an empty cell; mend the cell or empty it",
            Assert.Throws<TableException>(() => table.Number(air)).Message);
        Assert.True(table.Next());
        Assert.StartsWith("line 6, column air_celsius: '60.1', expected", Assert.Throws<TableException>(() => table.Number(air)).Message, StringComparison.Ordinal);
        Assert.False(table.Next());
    }

    private static (int Rows, string? Fault) Two((int Rows, IReadOnlyList<string> Remarks, string? Fault) read) => (read.Rows, read.Fault);

    private static (int Rows, IReadOnlyList<string> Remarks, string? Fault) Read(string kind, string text)
    {
        using var reader = new StringReader(text);
        var remarks = new List<string>();
        try
        {
            switch (kind)
            {
                case "backtest":
                    var rows = BacktestCsv.Read(reader, null, TestContext.Current.CancellationToken);
                    return (rows.Rows.Count, rows.Remarks, null);
                case "weather":
                    return WeatherCsv.Read(reader) switch
                    {
                        WeatherFile file => (file.Rows.Count, file.Remarks, null),
                        var fault => (0, [], fault.ToString()),
                    };
                case "readings":
                    return (ReadingCsv.Read(reader, NorthGate.Id, remarks.Add).Count(), remarks, null);
                default:
                    var checks = CheckCsv.Read(reader, NorthGate.Id, [NorthGate], Noon);
                    return (checks.Checks.Count, checks.Remarks, checks.Fault);
            }
        }
        catch (TableException refused)
        {
            return (0, remarks, refused.Message);
        }
    }
}
