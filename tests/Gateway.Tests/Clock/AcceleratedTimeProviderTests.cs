using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Tests.Clock;

public sealed class AcceleratedTimeProviderTests
{
    private static readonly DateTimeOffset Start = new(2026, 7, 14, 13, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Clock_stands_until_it_is_started()
    {
        var time = new AcceleratedTimeProvider(Start, 600);
        Assert.Equal(Start, time.GetUtcNow());
        Assert.Equal(0, time.GetTimestamp());
    }

    [Fact]
    public async Task An_hour_of_a_fast_clock_passes_in_less_than_a_minute_of_ours()
    {
        var time = new AcceleratedTimeProvider(Start, 5_000);
        time.Start();
        var from = time.GetTimestamp();
        await Task.Delay(TimeSpan.FromHours(1), time, TestContext.Current.CancellationToken);
        Assert.True(time.GetElapsedTime(from) >= TimeSpan.FromMinutes(59), $"{time.GetElapsedTime(from)}");
        Assert.True(time.GetUtcNow() >= Start.AddMinutes(59));
    }

    [Theory]
    [InlineData(0.9)]
    [InlineData(5_000.1)]
    [InlineData(double.NaN)]
    public void Speed_outside_its_range_is_refused(double speed) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new AcceleratedTimeProvider(Start, speed));

    [Fact]
    public async Task Quick_timers_keep_firing()
    {
        var time = new AcceleratedTimeProvider(Start, 5_000);
        time.Start();
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(1), time);
        for (var i = 0; i < 5; i++)
            Assert.True(await timer.WaitForNextTickAsync(TestContext.Current.CancellationToken));
    }
}
