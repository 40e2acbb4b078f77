using MQTTnet.Packets;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Ingest;

/// <summary>When a reading counts, by this server's clock: its age at the gateway is believed over any calendar.</summary>
public sealed class PackOriginTests
{
    private static readonly DateTimeOffset Now = new(2026, 7, 14, 14, 0, 0, TimeSpan.Zero);
    private static readonly PackNumber Counted = new("boot", 1);

    [Theory]
    //          dated, min  age, s  queued  counts at, min  what
    [InlineData(0, 5, false, 0.0, "clocks agree: the date stands")]
    [InlineData(-2, 120, false, -2.0, "two minutes old by both")]
    [InlineData(120, 5, false, -5 / 60.0, "this server is two hours behind")]
    [InlineData(10, 5, false, -5 / 60.0, "this server is ten minutes behind")]
    [InlineData(-576_000, 5, false, -5 / 60.0, "this server is 400 days ahead")]
    [InlineData(0, 7200, false, -120.0, "taken two hours ago by a clock that was two hours ahead: not of now")]
    [InlineData(0.9, 5, false, -5 / 60.0, "a gateway not a minute ahead: what it takes after its clock is set must count as newer")]
    [InlineData(-60, 5, true, -60.0, "waited an hour in another broker: its age has grown")]
    [InlineData(60, 5, true, -5 / 60.0, "dated ahead through another broker: the age says no more")]
    public void Age_is_believed_over_the_calendar(double datedMinutes, double ageSeconds, bool queued, double countsAtMinutes, string what)
    {
        var reading = At(datedMinutes);
        var origin = new PackOrigin(Counted, TimeSpan.FromSeconds(ageSeconds), queued);

        Assert.True(origin.CountsAt(reading, reading.MeasuredAt, Now) is { } at && (at - Now.AddMinutes(countsAtMinutes)).Duration() < TimeSpan.FromMilliseconds(1), what);
    }

    [Fact]
    public void Older_readings_of_a_pack_count_as_much_earlier()
    {
        var origin = new PackOrigin(Counted, TimeSpan.FromSeconds(10), false);
        Assert.Equal(Now.AddMinutes(-3).AddSeconds(-10), origin.CountsAt(At(117), At(120).MeasuredAt, Now));
    }

    [Fact]
    public void What_a_gateway_sends_without_an_age_is_history_whatever_its_date() =>
        Assert.Null(new PackOrigin(Counted, null, false).CountsAt(At(0), Now, Now));

    [Theory]
    [InlineData(-30, true)]
    [InlineData(0, true)]
    [InlineData(1, true)]
    [InlineData(1.01, false)]
    [InlineData(59, false)]
    public void Who_neither_counts_nor_tells_an_age_is_judged_by_the_date(double minutes, bool counts) =>
        Assert.Equal(counts ? At(minutes).MeasuredAt : null, default(PackOrigin).CountsAt(At(minutes), At(minutes).MeasuredAt, Now));

    [Theory]
    [InlineData("0", 0.0)]
    [InlineData("5250", 5.25)]
    [InlineData("86400000", 86400.0)]
    [InlineData("86400001", null)]
    [InlineData("-1", null)]
    [InlineData("5.5", null)]
    [InlineData("now", null)]
    [InlineData("", null)]
    public void Age_is_read_as_whole_milliseconds_up_to_a_day(string text, double? seconds)
    {
        var (origin, _) = PackOrigin.Read([new MqttUserProperty("age", System.Text.Encoding.UTF8.GetBytes(text))], isQueued: false);
        Assert.Equal(seconds, origin.Age?.TotalSeconds);
    }

    private static Reading At(double minutes) =>
        new(SpotId.Parse("quarry-steps"), Now.AddMinutes(minutes)) { SurfaceCelsius = 61, Quality = ReadingQuality.Good };
}
