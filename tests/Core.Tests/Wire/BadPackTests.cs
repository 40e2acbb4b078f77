using System.Text;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>Every kind of bad input is a named outcome with its field and its remedy, and spoils no more than its reading.</summary>
public class BadPackTests
{
    // 2026-07-15T19:00:00Z = 1784142000.
    private static readonly DateTimeOffset Now = new(2026, 7, 15, 19, 0, 0, TimeSpan.Zero);

    private const string Good = """{"bn":"mill-footbridge/","bt":1784142000,"n":"surface","u":"Cel","v":41.5}""";

    [Theory]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","v":900}""", RefusalReason.OutOfRange, "v", "surface is 900, expected -60 to 120 °C")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","v":120.0001}""", RefusalReason.OutOfRange, "v", "surface is 120.0001, expected -60 to 120 °C")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","v":"NaN"}""", RefusalReason.NotANumber, "v", "found the string \"NaN\", expected a finite number")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","v":1e400}""", RefusalReason.NotANumber, "v", "found 1e400, expected a finite number")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","v":null}""", RefusalReason.NotANumber, "v", "found null, expected a finite number")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel","vs":"NaN"}""", RefusalReason.NotANumber, "v", "found no number")]
    [InlineData("""{"n":"surface","t":-60,"u":"Cel"}""", RefusalReason.MalformedRecord, "v", "found no value, expected one of v, vs, vb, vd, or s")]
    [InlineData("""{"n":"surface","t":-60,"u":"K","v":310}""", RefusalReason.WrongUnit, "u", "found 'K', expected 'Cel'")]
    [InlineData("""{"n":"surface","t":-60,"v":41}""", RefusalReason.WrongUnit, "u", "found no unit, expected 'Cel'")]
    [InlineData("""{"n":"quality","t":-60,"vs":"splendid"}""", RefusalReason.UnknownQuality, "vs", "found 'splendid'")]
    public void A_bad_value_takes_its_reading_and_no_other(string record, RefusalReason reason, string field, string detail)
    {
        var companion = """{"n":"air","t":-60,"u":"Cel","v":30}""";
        var parsed = Read($"[{Good},{companion},{record}]");
        var refused = parsed.Refused[^1];
        Assert.Equal((2, reason, field, true), (refused.Position, refused.Reason, refused.Field, refused.Spoils));
        Assert.Equal(detail, refused.Detail);
        Assert.NotEmpty(refused.Remedy);
        Assert.Equal(1, parsed.SpoiltReadings);
        Assert.Equal((Now, 41.5), (Assert.Single(parsed.Readings).MeasuredAt, parsed.Readings[0].SurfaceCelsius));
    }

    [Theory]
    [InlineData(0, RefusalReason.TimeNotAbsolute)] // 1970, and "now" to RFC 8428
    [InlineData(1234.5, RefusalReason.TimeNotAbsolute)] // a clock that began to count at start
    [InlineData(-60, RefusalReason.TimeNotAbsolute)]
    [InlineData(253_402_300_800, RefusalReason.NoSuchTime)] // the year 10000
    [InlineData(1e300, RefusalReason.NoSuchTime)]
    public void A_time_that_cannot_be_right_is_refused(double seconds, RefusalReason reason)
    {
        var parsed = Read($$"""[{"bn":"mill-footbridge/","bt":{{seconds:R}},"n":"surface","u":"Cel","v":41.5},{"n":"air","u":"Cel","v":30}]""");
        Assert.Empty(parsed.Readings);
        Assert.Equal([reason, reason], parsed.Refused.Select(r => r.Reason));
        Assert.Equal(1, parsed.SpoiltReadings);
        Assert.Contains("clock", parsed.Refused[0].Remedy, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(268_435_456, false)] // 1978
    [InlineData(1_749_581_999.999, false)] // 400 days and a millisecond before
    [InlineData(1_749_582_000, true)] // 400 days before
    [InlineData(1_784_142_300, true)] // five minutes ahead
    [InlineData(1_784_142_300.001, false)] // five minutes and a millisecond ahead
    [InlineData(1_784_145_540, false)] // 59 minutes ahead
    [InlineData(1_815_678_000, false)] // 2027-07-15
    [InlineData(253_402_300_799, false)] // the end of the year 9999
    public void A_date_far_from_the_receivers_clock_is_neither_taken_nor_refused(double seconds, bool near)
    {
        var parsed = Read($$"""[{"bn":"mill-footbridge/","bt":{{seconds:R}},"n":"surface","u":"Cel","v":41.5}]""");
        Assert.Equal(Math.Round(seconds, 3), Assert.Single(near ? parsed.Readings : parsed.OtherClock).MeasuredAt.ToUnixTimeMilliseconds() / 1000.0);
        Assert.Empty(near ? parsed.OtherClock : parsed.Readings);
        Assert.Equal((0, 0), (parsed.Refused.Count, parsed.SpoiltReadings));
    }

    [Theory]
    [InlineData("""{"n":"ozone","u":"ppm","v":0.1}""", RefusalReason.UnknownName)]
    [InlineData("""{"bn":"","n":"mill-footbridge","v":1}""", RefusalReason.UnknownName)]
    [InlineData("""{"n":"surface/extra","u":"Cel","v":41.5}""", RefusalReason.UnknownName)]
    [InlineData("""{"bn":"Mill/","n":"surface","u":"Cel","v":60}""", RefusalReason.BadName)]
    [InlineData("""{"bn":"","n":"_","v":60}""", RefusalReason.BadName)]
    [InlineData("""{"n":"supply","u":"V","v":61}""", RefusalReason.OutOfRange)]
    [InlineData("""{"n":"light","u":"V","v":61}""", RefusalReason.WrongUnit)]
    [InlineData("""{"n":"spread","u":"K","v":-0.1}""", RefusalReason.OutOfRange)]
    [InlineData("""{"n":"spread","u":"Cel","v":0.3}""", RefusalReason.WrongUnit)]
    [InlineData("""{"n":"sensor","u":"Cel","v":"hot"}""", RefusalReason.NotANumber)]
    [InlineData("""{"n":"air","u":"Cel","v":"hot"}""", RefusalReason.NotANumber)]
    [InlineData("""{"n":"humidity","u":"%","v":40}""", RefusalReason.WrongUnit)]
    [InlineData("""{"n":"surface","u":"Cel","v":42}""", RefusalReason.Contradiction)]
    public void A_record_beside_the_surface_is_only_kept_out(string record, RefusalReason reason)
    {
        var parsed = Read($"[{Good},{record}]");
        var refused = Assert.Single(parsed.Refused);
        Assert.Equal((reason, false), (refused.Reason, refused.Spoils));
        Assert.Equal(0, parsed.SpoiltReadings);
        Assert.Equal(41.5, Assert.Single(parsed.Readings).SurfaceCelsius);
    }

    [Theory]
    [InlineData("""{"n":"air","u":"Cel","v":61.2}""", "air is 61.2, expected -60 to 60 °C")]
    [InlineData("""{"n":"air","u":"Cel","v":-60.1}""", "air is -60.1, expected -60 to 60 °C")]
    [InlineData("""{"n":"humidity","u":"%RH","v":101}""", "humidity is 101, expected 0 to 100 %")]
    public void Air_that_cannot_be_is_lost_and_named_and_the_hot_ground_beside_it_stays(string record, string detail)
    {
        var hot = Good.Replace("41.5", "63", StringComparison.Ordinal);
        var parsed = Read($"[{hot},{record}]");

        var reading = Assert.Single(parsed.Readings);
        Assert.Equal((63.0, null, null, ReadingQuality.Good), (reading.SurfaceCelsius, reading.AirCelsius, reading.HumidityPercent, reading.Quality));
        var refused = Assert.Single(parsed.Refused);
        Assert.Equal((1, RefusalReason.OutOfRange, "v", detail, false), (refused.Position, refused.Reason, refused.Field, refused.Detail, refused.Spoils));
        Assert.Equal(0, parsed.SpoiltReadings);
    }

    [Fact]
    public void A_doubt_that_is_not_known_leaves_the_reading_suspect()
    {
        var reading = Assert.Single(Read($$"""[{{Good}},{"n":"quality","vs":"suspect:spike,haunted"}]""").Readings);
        Assert.Equal((ReadingQuality.Suspect, Doubt.Spike), (reading.Quality, reading.Doubt));
    }

    [Theory]
    [InlineData("good:wet")]
    [InlineData("good:haunted")]
    public void Good_with_a_doubt_is_suspect(string quality)
    {
        var reading = Assert.Single(Read($$"""[{{Good}},{"n":"quality","vs":"{{quality}}"}]""").Readings);
        Assert.Equal(ReadingQuality.Suspect, reading.Quality);
    }

    [Fact]
    public void Of_two_qualities_the_more_cautious_holds()
    {
        var reading = Assert.Single(
            Read($$"""[{{Good}},{"n":"quality","vs":"rejected:check-byte"},{"n":"quality","vs":"suspect:wet"}]""").Readings);
        Assert.Equal((ReadingQuality.Rejected, Doubt.CheckByte | Doubt.Wet), (reading.Quality, reading.Doubt));
    }

    [Fact]
    public void The_same_value_twice_is_no_contradiction() =>
        Assert.Empty(Read($$"""[{{Good}},{"n":"surface","u":"Cel","v":41.5}]""").Refused);

    [Fact]
    public void A_stranger_cannot_fill_a_log_with_a_name()
    {
        var refused = Assert.Single(Read($$"""[{"n":"{{new string('x', 5000)}}\n","v":1}]""").Refused);
        Assert.Equal(RefusedRecord.LongestName, refused.Name.Length);
    }

    [Fact]
    public void A_refusal_reads_as_a_sentence() =>
        Assert.Equal(
            "record 1 'mill-footbridge/surface', v: surface is 900, expected -60 to 120 °C; look at the sensor and its wiring",
            Read($$"""[{{Good}},{"n":"surface","t":-60,"u":"Cel","v":900}]""").Refused[0].ToString());

    [Fact]
    public void What_is_no_pack_is_malformed_as_a_whole()
    {
        var outcome = ReadingPack.Read("""[{"n":"surface","v":NaN}]"""u8, Now);
        var malformed = Assert.IsType<ReadingPackOutcome.Malformed>(outcome);
        Assert.Equal(SenMlMistake.NotJson, malformed.Cause.Reason);
        Assert.Equal("line 1, byte 20", malformed.Cause.Field);
    }

    private static ReadingPackOutcome.Parsed Read(string json) =>
        Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(Encoding.UTF8.GetBytes(json), Now));
}
