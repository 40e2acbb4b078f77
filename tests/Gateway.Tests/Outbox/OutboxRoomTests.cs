using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Tests.Outbox;

public sealed class OutboxRoomTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Thirty_days_of_ten_spots_by_the_minute_fit_in_200_MB()
    {
        using var outbox = Some.Open(_folder["outbox.db"]);
        var spots = Enumerable.Range(0, 10).Select(spot => $"a-spot-with-a-long-name-{spot}").ToArray();
        for (var day = 0; day < 30; day++)
        {
            outbox.Append([.. Enumerable.Range(0, 1440).SelectMany(minute => spots.Select(spot => Some.Reading(day * 1440 + minute, spot, 20 + minute % 317 / 10.0)))]);
        }

        var state = outbox.State();
        Assert.Equal(30 * 1440 * 10, state.Waiting);
        Assert.Equal(0, state.Counts[OutboxCount.Thinned]);
        var onDisk = Directory.GetFiles(_folder["."]).Sum(file => new FileInfo(file).Length);
        TestContext.Current.TestOutputHelper?.WriteLine($"{onDisk / 1e6:F1} MB on disk");
        Assert.True(onDisk < 200_000_000, $"{onDisk} bytes");
    }

    [Fact]
    public void Past_its_room_the_oldest_become_ten_minute_means_and_every_reading_is_accounted_for()
    {
        using var outbox = Some.Open(_folder["outbox.db"], options: new OutboxOptions { MaxMegabytes = 1, KeepFreeMegabytes = 0 });
        const int Total = 30_000;
        for (var minute = 1; minute <= Total; minute += 100)
            outbox.Append([.. Enumerable.Range(minute, 100).Select(m => Some.Reading(m, surfaceCelsius: m % 10))]);

        var state = outbox.State();
        Assert.True(state.UsedBytes <= 1_000_000, $"{state.UsedBytes} bytes used");
        Assert.True(state.Counts[OutboxCount.Thinned] > 0);
        Assert.Equal(0, state.Counts[OutboxCount.GivenUp]);
        Assert.Equal(Total, state.Waiting + state.Counts[OutboxCount.Thinned]);
        var entries = outbox.Peek(Total);
        // Minutes 1 to 10 carry 1, 2 ... 9, 0: their mean is 4.5, by definition.
        Assert.Equal((Some.Noon.AddMinutes(10), 4.5), (entries[0].Reading.MeasuredAt, entries[0].Reading.SurfaceCelsius));
        Assert.Equal(Some.Noon.AddMinutes(Total), entries[^1].Reading.MeasuredAt);
        Assert.Equal(TimeSpan.FromMinutes(1), entries[^1].Reading.MeasuredAt - entries[^2].Reading.MeasuredAt);
        Assert.Equal(entries.OrderBy(entry => entry.Reading.MeasuredAt), entries);
    }

    [Fact]
    public void When_all_are_means_the_oldest_are_given_up_and_counted()
    {
        using var outbox = Some.Open(_folder["outbox.db"], options: new OutboxOptions { MaxMegabytes = 1, KeepFreeMegabytes = 0 });
        const int Total = 30_000;
        // Half an hour apart, so that no ten minutes hold two.
        for (var n = 1; n <= Total; n += 500)
            outbox.Append([.. Enumerable.Range(n, 500).Select(m => Some.Reading(m * 30))]);

        var state = outbox.State();
        Assert.True(state.UsedBytes <= 1_000_000, $"{state.UsedBytes} bytes used");
        Assert.True(state.Counts[OutboxCount.GivenUp] > 0);
        Assert.Equal(Total, state.Waiting + state.Counts[OutboxCount.Thinned] + state.Counts[OutboxCount.GivenUp]);
        Assert.Equal(Total * 30, outbox.Minutes()[^1]);
    }

    [Fact]
    public void Mean_leaves_out_what_is_suspect_when_something_is_good()
    {
        Reading[] readings =
        [
            Some.Reading(1, surfaceCelsius: 40).Reading,
            Some.Reading(2, surfaceCelsius: 80).Reading with { Quality = ReadingQuality.Suspect, Doubt = Doubt.Spike, SpreadKelvin = 9 },
            Some.Reading(3, surfaceCelsius: 42).Reading with { HumidityPercent = null, SpreadKelvin = 0.4 },
        ];

        var mean = TenMinuteMean.Of(readings);

        Assert.Equal((41.0, 40.0, 0.4, ReadingQuality.Good, Doubt.None), (mean.SurfaceCelsius, mean.HumidityPercent, mean.SpreadKelvin, mean.Quality, mean.Doubt));
        Assert.Equal(Some.Noon.AddMinutes(3), mean.MeasuredAt);
    }

    [Theory]
    [InlineData(600_000, 1, "the boundary ends the span before it")]
    [InlineData(600_001, 2, "a millisecond later is the next span")]
    [InlineData(1_200_000, 2, "the boundary ends the span before it")]
    public void Spans_end_on_the_ten_minutes(long unixMilliseconds, long span, string why) =>
        Assert.True(TenMinuteMean.SpanOf(unixMilliseconds) == span, why);
}
