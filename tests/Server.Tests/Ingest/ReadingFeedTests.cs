using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Ingest;

public sealed class ReadingFeedTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task Every_reader_gets_what_is_published_after_it_subscribed()
    {
        var feed = new ReadingFeed();
        feed.Publish([At(0)]);
        var first = feed.ReadAllAsync(TestContext.Current.CancellationToken);
        feed.Publish([At(1), At(2)]);
        var second = feed.ReadAllAsync(TestContext.Current.CancellationToken);
        feed.Publish([At(3)]);

        Assert.Equal([At(1), At(2), At(3)], await TakeAsync(first, 3));
        Assert.Equal([At(3)], await TakeAsync(second, 1));
    }

    [Fact]
    public async Task A_slow_reader_loses_its_oldest_readings_and_the_loss_is_counted()
    {
        var feed = new ReadingFeed(capacity: 2);
        var slow = feed.ReadAllAsync(TestContext.Current.CancellationToken);
        feed.Publish([At(0), At(1), At(2), At(3), At(4)]);

        Assert.Equal(3, feed.OverflowCount);
        Assert.Equal([At(3), At(4)], await TakeAsync(slow, 2));
    }

    [Fact]
    public async Task A_reader_that_left_is_forgotten()
    {
        var feed = new ReadingFeed(capacity: 1);
        var leaving = feed.ReadAllAsync(TestContext.Current.CancellationToken);
        feed.Publish([At(0)]);
        await TakeAsync(leaving, 1);

        using var stop = new CancellationTokenSource();
        _ = feed.ReadAllAsync(stop.Token);
        await stop.CancelAsync();

        feed.Publish([At(1), At(2), At(3)]);
        Assert.Equal(0, feed.OverflowCount);
    }

    private static HeardReading At(int minute) =>
        new(new Reading(SpotId.Parse("quarry-steps"), Noon.AddMinutes(minute)) { SurfaceCelsius = 40 }, Noon.AddMinutes(minute));

    private static async Task<List<HeardReading>> TakeAsync(IAsyncEnumerable<HeardReading> source, int count)
    {
        var taken = new List<HeardReading>();
        await foreach (var reading in source)
        {
            taken.Add(reading);
            if (taken.Count == count)
                break;
        }
        return taken;
    }
}
