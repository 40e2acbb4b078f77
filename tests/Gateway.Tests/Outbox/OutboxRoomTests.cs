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

    [Fact]
    public void Doubted_heat_is_not_lost_in_the_mean_of_what_is_good()
    {
        // The sensor's body is warming: the doubt says nothing against the heat.
        var span = Enumerable.Range(1, 10).Select(minute => SixOfTenHeating(minute).Reading).ToList();

        var kept = TenMinuteMean.Parts(span, reading => reading).Select(TenMinuteMean.Of).ToList();

        Assert.Equal(
            [(Some.Noon.AddMinutes(6), 60, ReadingQuality.Suspect, Doubt.SensorHeating), (Some.Noon.AddMinutes(10), 47, ReadingQuality.Good, Doubt.None)],
            kept.Select(mean => (mean.MeasuredAt, mean.SurfaceCelsius!.Value, mean.Quality, mean.Doubt)));
    }

    [Theory]
    [InlineData(ReadingQuality.Suspect, 48.0, "no hotter by more than a kelvin")]
    [InlineData(ReadingQuality.Suspect, 30.0, "cooler")]
    [InlineData(ReadingQuality.Rejected, 90.0, "not the ground's heat")]
    public void What_hides_no_heat_is_taken_together(ReadingQuality quality, double surfaceCelsius, string why)
    {
        Reading[] span =
        [
            Some.Reading(1, surfaceCelsius: surfaceCelsius).Reading with { Quality = quality, Doubt = Doubt.SensorHeating },
            Some.Reading(2, surfaceCelsius: 47).Reading,
        ];
        Assert.True(TenMinuteMean.Parts(span, reading => reading).Count() == 1, why);
    }

    [Fact]
    public void Room_on_the_card_is_made_without_losing_doubted_heat()
    {
        using var outbox = Some.Open(_folder["outbox.db"], options: new OutboxOptions { MaxMegabytes = 1, KeepFreeMegabytes = 0 });
        const int Total = 20_000;
        for (var minute = 1; minute <= Total; minute += 100)
            outbox.Append([.. Enumerable.Range(minute, 100).Select(SixOfTenHeating)]);

        var state = outbox.State();
        Assert.True(state.Counts[OutboxCount.Thinned] > 0);
        Assert.Equal(Total, state.Waiting + state.Counts[OutboxCount.Thinned]);
        AssertHeatIn([.. outbox.Peek(Total).Select(entry => entry.Reading)], Total / 10);
    }

    [Fact]
    public void Room_in_memory_is_made_without_losing_doubted_heat()
    {
        var outbox = new MemoryOutbox(capacity: 100);
        for (var minute = 1; minute <= 200; minute += 10)
            outbox.Add([.. Enumerable.Range(minute, 10).Select(SixOfTenHeating)]);

        Assert.True(outbox.Counts[OutboxCount.Thinned] > 0);
        AssertHeatIn([.. outbox.Dated().Select(entry => entry.Reading)], 20);
    }

    private static TakenReading SixOfTenHeating(int minute) => minute % 10 is > 0 and < 7
        ? Heating(Some.Reading(minute, surfaceCelsius: 60))
        : Some.Reading(minute, surfaceCelsius: 47);

    private static TakenReading Heating(TakenReading taken) =>
        taken with { Reading = taken.Reading with { Quality = ReadingQuality.Suspect, Doubt = Doubt.SensorHeating } };

    private static void AssertHeatIn(IReadOnlyList<Reading> kept, int spans)
    {
        var bySpan = kept.GroupBy(reading => TenMinuteMean.SpanOf(reading.MeasuredAt.ToUnixTimeMilliseconds())).ToList();
        Assert.Equal(spans, bySpan.Count);
        Assert.All(bySpan, span =>
        {
            Assert.Contains(span, reading => reading is { SurfaceCelsius: 60, Quality: ReadingQuality.Suspect, Doubt: Doubt.SensorHeating });
            Assert.Contains(span, reading => reading is { SurfaceCelsius: 47, Quality: ReadingQuality.Good, Doubt: Doubt.None });
        });
    }

    [Theory]
    [InlineData(600_000, 1, "the boundary ends the span before it")]
    [InlineData(600_001, 2, "a millisecond later is the next span")]
    [InlineData(1_200_000, 2, "the boundary ends the span before it")]
    public void Spans_end_on_the_ten_minutes(long unixMilliseconds, long span, string why) =>
        Assert.True(TenMinuteMean.SpanOf(unixMilliseconds) == span, why);
}
