using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Analyst;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Tables;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Fuzzing;

/// <summary>Files people hand in, changed at random: each is read or refused with words.</summary>
public sealed class FileFuzzTests
{
    private static readonly Spot[] Spots = [RunningServer.NorthGate, RunningServer.QuarrySteps];

    [Fact]
    public void A_backtest_file_is_read_or_refused_with_its_line() => Fuzz.Texts(
        "backtest", 0.1,
        [
            "time_utc,air_celsius,surface_celsius,humidity_percent\n1998-07-10T12:00:00Z,30.5,55.25,40\n1998-07-10T12:30:00Z,31,,41\n",
            "time_utc,air_celsius,surface_celsius,wind_mps,solar_wm2\r\n1998-07-10T12:00:00+02:00,30,50,1.5,800\r\n1998-07-10T11:00:00Z,,50,,\r\n",
        ],
        text =>
        {
            using var reader = new StringReader(text);
            try
            {
                Assert.All(BacktestCsv.Read(reader, null, TestContext.Current.CancellationToken).Rows, row => Assert.InRange(row.AirCelsius, -60, 60));
            }
            catch (TableException refused)
            {
                Assert.StartsWith("line ", refused.Message, StringComparison.Ordinal);
            }
        });

    [Fact]
    public void Checks_are_read_or_refused_with_their_line() => Fuzz.Texts(
        "checks", 0.08,
        [
            "spot,time_utc,surface_celsius,thermometer,emissivity,ground,note\nnorth-gate-plaza,2026-07-13T19:05:00Z,57.4,Handy 2,0.95,sun,\nNorth Gate plaza,2026-07-13T19:20:00Z,44.1,,0.95,shade,\"by the wall, third\"\n",
            "spot,time_local,surface_fahrenheit\nquarry-steps,2026-07-13T14:05,120.5\n",
        ],
        text =>
        {
            using var reader = new StringReader(text);
            var outcome = CheckCsv.Read(reader, null, Spots, RunningServer.Noon);
            Assert.True(outcome.Fault is null ? outcome.Checks.Count > 0 : outcome.Checks.Count == 0);
            Assert.All(outcome.Checks, check => Assert.Null(SpotCheckRules.Fault(check, RunningServer.Noon, TemperatureUnit.Both)));
        });

    [Fact]
    public void Readings_are_read_or_refused_with_their_line() => Fuzz.Texts(
        "readings", 0.08,
        [
            "time_utc,surface_celsius,air_celsius,humidity_percent,sensor_celsius,light_lux,supply_volts,quality,doubt\n2026-07-14T17:00:00Z,58.25,33.5,41,35,80000,5.1,suspect,Spike+Wet\n2026-07-14T17:01:00.5Z,58,,,,,,good,\n",
            "air_celsius,time_utc\n30,2026-07-14T17:00:00Z\n",
        ],
        text =>
        {
            using var reader = new StringReader(text);
            try
            {
                foreach (var reading in ReadingCsv.Read(reader, Spots[0].Id))
                {
                    Assert.Null(ReadingRange.FirstFault(reading));
                    Assert.True(Enum.IsDefined(reading.Quality), $"{reading.Quality}");
                    Assert.DoesNotContain(reading.Doubt.ToString(), char.IsDigit);
                }
            }
            catch (TableException refused)
            {
                Assert.StartsWith("line ", refused.Message, StringComparison.Ordinal);
            }
        });

    [Fact]
    public void Weather_as_CSV_is_read_or_refused() => Fuzz.Texts(
        "weather as CSV", 0.06,
        ["time_utc,air_celsius,humidity_percent,wind_mps,solar_wm2\n2026-07-14T17:00:00Z,33.5,41,1.5,800\n2026-07-14T18:00:00+01:00,33,,,\n"],
        text =>
        {
            using var reader = new StringReader(text);
            Sound(WeatherCsv.Read(reader));
        });

    [Fact]
    public void Weather_as_JSON_is_read_or_refused() => Fuzz.Texts(
        "weather as JSON", 0.06,
        ["""{"kind":"forecast","issuedAt":"2026-07-14T06:00:00Z","rows":[{"at":"2026-07-14T17:00:00Z","airCelsius":35.2,"humidityPercent":40,"windMetersPerSecond":2,"solarWattsPerSquareMeter":700},{"at":"2026-07-14T18:00:00Z","airCelsius":34}]}"""],
        text => Sound(WeatherJson.Read(text)));

    [Theory]
    [InlineData("-1")]
    [InlineData("+2")]
    [InlineData("7")]
    public void A_quality_that_is_no_word_is_refused(string quality)
    {
        using var reader = new StringReader($"time_utc,surface_celsius,quality\n2026-07-14T17:00:00Z,58,{quality}\n");
        Assert.Throws<TableException>(() => ReadingCsv.Read(reader, Spots[0].Id).ToList());
    }

    [Fact]
    public void A_line_without_end_is_refused_before_it_fills_the_memory()
    {
        foreach (var header in new[] { "", "time_utc,air_celsius,surface_celsius\n", "spot,time_utc,surface_celsius\n", "\"" })
        {
            Refused(header, reader => Assert.Throws<TableException>(() => ReadingCsv.Read(reader, Spots[0].Id).ToList()));
            Refused(header, reader => Assert.Throws<TableException>(() => BacktestCsv.Read(reader, null, TestContext.Current.CancellationToken)));
            Refused(header, reader => Assert.IsType<WeatherFault>(WeatherCsv.Read(reader)));
            Refused(header, reader => Assert.NotNull(CheckCsv.Read(reader, null, Spots, RunningServer.Noon).Fault));
        }
    }

    private static void Refused(string header, Action<TextReader> read)
    {
        using var endless = new EndlessReader(header);
        var before = GC.GetAllocatedBytesForCurrentThread();
        read(endless);
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 4 << 20);
    }

    private static void Sound(WeatherFileOutcome outcome)
    {
        if (outcome is WeatherFile file)
            Assert.All(file.Rows, row => Assert.True(row.AirCelsius is null or (>= -60 and <= 60)));
        else
            Assert.IsType<WeatherFault>(outcome);
    }

    /// <summary>A header, then a line of 256 million characters.</summary>
    private sealed class EndlessReader(string header) : TextReader
    {
        private readonly StringReader _header = new(header);
        private long _left = 256 << 20;

        public override int Peek() => _header.Peek() is >= 0 and var next ? next : _left > 0 ? '1' : -1;

        public override int Read() => _header.Read() is >= 0 and var next ? next : _left-- > 0 ? '1' : -1;

        public override int Read(char[] buffer, int index, int count)
        {
            if (_header.Read(buffer, index, count) is > 0 and var read)
                return read;
            count = (int)Math.Min(count, _left);
            buffer.AsSpan(index, count).Fill('1');
            _left -= count;
            return count;
        }
    }
}
