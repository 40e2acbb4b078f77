using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Clock;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Clock;

public sealed class AcceleratedTimeProviderTests
{
    private static readonly DateTimeOffset Start = new(2026, 7, 14, 13, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Clock_stands_until_it_is_started()
    {
        using var time = new AcceleratedTimeProvider(Start, 600);
        Assert.Equal(Start, time.GetUtcNow());
        Assert.Equal(0, time.GetTimestamp());
    }

    [Fact]
    public async Task An_hour_of_a_fast_clock_passes_in_less_than_a_minute_of_ours()
    {
        using var time = new AcceleratedTimeProvider(Start, 5_000);
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
        using var time = new AcceleratedTimeProvider(Start, 5_000);
        time.Start();
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(1), time);
        for (var i = 0; i < 5; i++)
            Assert.True(await timer.WaitForNextTickAsync(TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task After_a_pause_of_the_machine_the_clock_goes_on_where_it_was_and_no_tick_is_leapt_over()
    {
        var life = new FakeTimeProvider();
        using var time = new AcceleratedTimeProvider(Start, 600, life);
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(5), time);
        time.Start();
        // By the machine's count an hour of this time passes at once.
        life.Advance(TimeSpan.FromSeconds(6));
        Assert.Equal(Start + time.MostStep, time.GetUtcNow());

        DateTimeOffset[] seen = new DateTimeOffset[4];
        for (var i = 0; i < seen.Length; i++)
        {
            var next = timer.WaitForNextTickAsync(TestContext.Current.CancellationToken).AsTask();
            await Patience.UntilAsync(() => next.IsCompleted, () => "no tick", () => life.Advance(TimeSpan.FromMilliseconds(1)));
            seen[i] = time.GetUtcNow();
        }

        Assert.All(seen.Index(), tick => Assert.InRange(tick.Item - Start, TimeSpan.FromSeconds(5 * (tick.Index + 1)), TimeSpan.FromHours(1)));
    }

    [Fact]
    public void A_step_is_five_seconds_and_longer_only_where_the_systems_timers_are_too_coarse()
    {
        using var demo = new AcceleratedTimeProvider(Start, 600);
        using var soak = new AcceleratedTimeProvider(Start, 5_000);
        Assert.Equal(TimeSpan.FromSeconds(5), demo.MostStep);
        Assert.Equal(TimeSpan.FromSeconds(25), soak.MostStep);
    }

    [Fact]
    public async Task A_timer_that_is_put_off_or_disposed_does_not_fire()
    {
        using var time = new AcceleratedTimeProvider(Start, 5_000);
        time.Start();
        var fired = 0;
        using var putOff = time.CreateTimer(_ => Interlocked.Increment(ref fired), null, TimeSpan.FromHours(1), Timeout.InfiniteTimeSpan);
        var disposed = time.CreateTimer(_ => Interlocked.Increment(ref fired), null, TimeSpan.FromHours(1), TimeSpan.FromHours(1));
        Assert.True(putOff.Change(Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan));
        await disposed.DisposeAsync();
        Assert.False(disposed.Change(TimeSpan.Zero, TimeSpan.Zero));
        await Task.Delay(TimeSpan.FromHours(2), time, TestContext.Current.CancellationToken);
        Assert.Equal(0, fired);
    }
}
