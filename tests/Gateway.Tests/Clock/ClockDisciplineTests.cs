using CsCheck;
using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Tests.Clock;

/// <summary>Days of a wall clock told as scripts: seconds since boot, what the clock says (seconds after midnight; null: not trusted).</summary>
public sealed class ClockDisciplineTests
{
    private static readonly DateTimeOffset Midnight = new(2026, 7, 10, 0, 0, 0, TimeSpan.Zero);

    private readonly ClockDiscipline _clock = new();

    [Fact]
    public void Unknown_until_somebody_is_to_be_believed()
    {
        Assert.Equal(ClockChange.None, Look(5, null));
        Assert.Null(_clock.BootedAt);

        Assert.Equal(ClockChange.Known, Look(65, 3665));

        Assert.Equal(Midnight.AddSeconds(3600), _clock.BootedAt);
    }

    [Fact]
    public void Clock_that_is_no_longer_kept_goes_on_counting()
    {
        Look(0, 1000);

        Assert.Equal(ClockChange.None, Look(5000, null));

        Assert.Equal(6000, Now(5000));
    }

    [Theory]
    [InlineData(2.0, nameof(ClockChange.None), "a clock's ordinary life")]
    [InlineData(2.001, nameof(ClockChange.SteppedForward), "more than that")]
    [InlineData(86400.0, nameof(ClockChange.SteppedForward), "a day")]
    public void Forward_jump_is_followed_at_once(double seconds, string expected, string why)
    {
        Look(0, 1000);

        Assert.True($"{Look(10, 1010 + seconds)}" == expected, why);

        Assert.Equal(1010 + seconds, Now(10), 3);
    }

    [Fact]
    public void Backward_jump_is_made_up_at_half_speed_and_then_over()
    {
        Look(0, 10_000);

        Assert.Equal(ClockChange.SlowingDown, Look(5, 10_005 - 600));
        var last = 10_000.0;
        for (var second = 10; second <= 1300; second += 5)
        {
            Look(second, 10_000 - 600 + second);
            Assert.True(Now(second) > last, $"at {second} s: {Now(second)} after {last}");
            last = Now(second);
            // 600 s ahead, half a second made up a second: over after 1200 s.
            Assert.Equal(second < 1200, _clock.Ahead > TimeSpan.Zero);
        }
        Assert.Equal(10_000 - 600 + 1300, last, 3);
    }

    [Theory]
    [InlineData(3600, nameof(ClockChange.SlowingDown))]
    [InlineData(3601, nameof(ClockChange.SteppedBack))]
    public void Backward_jump_beyond_an_hour_is_followed(int seconds, string expected)
    {
        Look(0, 10_000);
        Look(10, 10_010);

        Assert.Equal(expected, $"{Look(10, 10_010 - seconds)}");
    }

    [Fact]
    public void Clock_set_back_twice_repeats_until_the_moment_of_the_first_time()
    {
        Look(0, 40_000);
        Look(1, 20_000);
        Look(5001, 20_000);

        Assert.Equal(Midnight.AddSeconds(40_001), _clock.RepeatsUntil);
    }

    [Theory]
    [InlineData(1800, 10_000 + 1800, "within an hour: begins where the last run ended, and slows down")]
    [InlineData(3601, 10_000, "further off: the last run's clock was wrong")]
    public void Restart_does_not_go_back_behind_what_was_given_out(int ahead, double expected, string why)
    {
        var again = new ClockDiscipline(Midnight.AddSeconds(10_000 + ahead));

        Assert.Equal(ClockChange.Known, again.Observe(TimeSpan.Zero, Midnight.AddSeconds(10_000)));

        Assert.True(again.BootedAt == Midnight.AddSeconds(expected), why);
        Assert.Equal(expected > 10_000, again.Ahead > TimeSpan.Zero);
    }

    [Fact]
    public void Whatever_the_wall_clock_does_within_an_hour_moments_only_rise() =>
        Gen.Select(Gen.Int[1, 120], Gen.Double[-3599, 3599]).Array[1, 60].Sample(script =>
        {
            var clock = new ClockDiscipline();
            var (sinceBoot, last) = (TimeSpan.Zero, DateTimeOffset.MinValue);
            clock.Observe(sinceBoot, Midnight);
            foreach (var (seconds, wrong) in script)
            {
                sinceBoot += TimeSpan.FromSeconds(seconds);
                // Never more than an hour behind what was given out: each jump is measured from our own clock.
                clock.Observe(sinceBoot, clock.BootedAt!.Value + sinceBoot + TimeSpan.FromSeconds(wrong));
                var now = clock.BootedAt.Value + sinceBoot;
                Assert.True(now > last, $"{now:O} after {last:O}");
                last = now;
            }
        });

    private ClockChange Look(double sinceBoot, double? wall) =>
        _clock.Observe(TimeSpan.FromSeconds(sinceBoot), wall is { } seconds ? Midnight.AddSeconds(seconds) : null);

    private double Now(double sinceBoot) => (_clock.BootedAt!.Value + TimeSpan.FromSeconds(sinceBoot) - Midnight).TotalSeconds;
}
