using System.Globalization;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Checks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Checks;

public sealed class CheckCsvTests
{
    private const string Columns = "spot,time_utc,surface_celsius,thermometer,emissivity,ground,note\n";

    [Theory]
    [InlineData("", "line 1: an empty file, expected a line like spot,time_utc")]
    [InlineData("spot,surface_celsius\n", "line 1, column time_utc: no such column, expected time_utc, or time_local")]
    [InlineData("spot,time_utc\n", "line 1, column surface_celsius: no such column, expected surface_celsius or surface_fahrenheit")]
    [InlineData("time_utc,surface_celsius\n", "line 1, column spot: no such column")]
    [InlineData("spot;time_utc;surface_celsius\n", "line 1: columns parted by ';' or tabs, expected columns parted by ','")]
    [InlineData("spot,time_utc,time_local,surface_celsius\n", "line 1, column time_utc: time_utc and time_local, expected one of them")]
    [InlineData("spot,time_utc,surface_celsius,surface_celsius\n", "line 1, column surface_celsius: the column twice")]
    [InlineData(Columns, "line 2: no check, expected at least one line below the header")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14 12:00,50,,,,\n", "line 2, column time_utc: '2026-07-14 12:00', expected a time with its zone like 2026-07-14T17:00:00Z; end UTC times with Z; name the column time_local")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,50,5,,,,\n", "line 2: 8 cells, expected 7 as in the header; write numbers with a decimal point")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,\"50,5\",,,,\n", "line 2, column surface_celsius: '50,5', expected a number with a decimal point; replace the decimal comma by a point")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,,,,,\n", "line 2, column surface_celsius: an empty cell, expected a temperature")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,125,,,,\n", "line 2, column surface_celsius: 125 °C (257 °F), expected -60 to 120 °C (-76 to 248 °F)")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T17:06:00Z,50,,,,\n", "line 2, column time_utc: 2026-07-14 17:06 UTC, expected not later than now, 2026-07-14 17:00 UTC")]
    [InlineData(Columns + "nowhere,2026-07-14T16:00:00Z,50,,,,\n", "line 2, column spot: 'nowhere', expected one of north-gate-plaza, quarry-steps")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,50,,95,,\n", "line 2, column emissivity: 95, expected 0.1 to 1")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,50,,,hot,\n", "line 2, column ground: 'hot', expected sun, shade, wet or an empty cell")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,50,=1+1,,,\n", "line 2, column thermometer: '=1+1', expected a first character other than")]
    [InlineData(Columns + "north-gate-plaza,2026-07-14T16:00:00Z,50,,,,\"two\n", "line 2: a quote that is not closed")]
    [InlineData("spot,time_local,surface_celsius\nnorth-gate-plaza,2026-03-08T02:30,20\n", "line 2, column time_local: '2026-03-08T02:30', expected a time that the clocks of America/Chicago show; they skip this one in spring")]
    [InlineData("spot,time_local,surface_celsius\nnorth-gate-plaza,2025-11-02T01:30,20\n", "line 2, column time_local: '2025-11-02T01:30', expected a time that the clocks of America/Chicago show once")]
    public void A_file_that_cannot_be_taken_is_refused_by_line_and_column(string text, string fault)
    {
        var outcome = Read(text);
        Assert.Empty(outcome.Checks);
        Assert.StartsWith(fault, outcome.Fault, StringComparison.Ordinal);
    }

    [Fact]
    public void A_file_without_end_is_refused_at_its_first_line_too_many()
    {
        using var endless = new Endless();
        var outcome = CheckCsv.Read(endless, null, [NorthGate], Noon);
        Assert.StartsWith("line 100002: more than 100000 checks", outcome.Fault, StringComparison.Ordinal);
        // What is read ahead is one buffer.
        Assert.InRange(endless.LinesRead, 100_002, 105_000);
    }

    [Fact]
    public void Local_times_and_fahrenheit_are_read_by_the_spots_own_clock()
    {
        var outcome = Read("note,time_local,surface_fahrenheit,spot\nby the gate,2026-07-14 10:05,122,North Gate plaza\n");
        Assert.Null(outcome.Fault);
        var check = Assert.Single(outcome.Checks);
        Assert.Equal((NorthGate.Id, new DateTimeOffset(2026, 7, 14, 15, 5, 0, TimeSpan.Zero), "by the gate"), (check.Spot, check.At, check.Note));
        Assert.Equal(50, check.ShownCelsius, 12);
    }

    [Fact]
    public void Unsorted_repeated_and_unknown_columns_are_mended_and_said()
    {
        var outcome = Read(
            "spot,time_utc,surface_celsius,colour\n"
            + "north-gate-plaza,2026-07-14T16:00:00Z,51,red\n"
            + "quarry-steps,2026-07-14T15:00:00Z,41,blue\n"
            + "north-gate-plaza,2026-07-14T16:00:00Z,51,red\n");
        Assert.Equal(["quarry-steps", "north-gate-plaza"], outcome.Checks.Select(c => c.Spot.Value));
        Assert.Equal(
            [
                "columns passed over: colour",
                "the checks were out of order and have been sorted by time",
                "1 checks stood in the file twice; the first of each was kept",
            ],
            outcome.Remarks);
    }

    [Fact]
    public void What_is_written_reads_back_the_same()
    {
        var check = new SpotCheck(NorthGate.Id, Noon.AddMinutes(-3.5), 51.34)
        {
            EmissivityFraction = 0.95,
            Ground = CheckedGround.Wet,
            Thermometer = "Handy \"2\", yellow",
            Note = "after the sweeper, half dry",
        };
        Assert.Equal([check], Read(Columns + CheckCsv.Line(check) + "\n").Checks);
    }

    private static CheckCsvOutcome Read(string text)
    {
        using var reader = new StringReader(text);
        return CheckCsv.Read(reader, null, [NorthGate, QuarrySteps], Noon);
    }

    private sealed class Endless : TextReader
    {
        public int LinesRead { get; private set; }

        public override int Read(char[] buffer, int index, int count)
        {
            var line = ++LinesRead == 1
                ? "spot,time_utc,surface_celsius\n"
                : string.Create(CultureInfo.InvariantCulture, $"north-gate-plaza,{Noon.AddSeconds(-LinesRead):yyyy-MM-ddTHH:mm:ss}Z,50\n");
            Assert.True(line.Length <= count);
            line.CopyTo(buffer.AsSpan(index));
            return line.Length;
        }
    }
}
