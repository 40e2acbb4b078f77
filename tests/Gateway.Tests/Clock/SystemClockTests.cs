using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Clock;

namespace PavementWatch.Gateway.Tests.Clock;

public sealed class SystemClockTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 10, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Pause_between_calendar_and_time_since_boot_does_not_look_like_a_jump()
    {
        // Every other look at the calendar the machine is away for ten seconds of the simulated day.
        var time = new InterruptedTime(interruptEvery: 2, TimeSpan.FromSeconds(10));
        var clock = new SystemClock(time, Options.Create(new ClockOptions()));

        var bootedAt = Enumerable.Range(0, 50).Select(_ => clock.Look()).Select(look => look.Now - look.SinceBoot).ToList();

        Assert.All(bootedAt, at => Assert.InRange((at - Noon).Duration(), TimeSpan.Zero, TimeSpan.FromMilliseconds(100)));
    }

    [Theory]
    [InlineData("2024-12-31T23:59:59Z", false)]
    [InlineData("2025-01-01T00:00:00Z", true)]
    public void Calendar_from_before_the_program_is_not_believed(string now, bool trusted)
    {
        var time = new Microsoft.Extensions.Time.Testing.FakeTimeProvider(DateTimeOffset.Parse(now));

        Assert.Equal(trusted, new SystemClock(time, Options.Create(new ClockOptions())).Look().IsTrusted);
    }

    private sealed class InterruptedTime(int interruptEvery, TimeSpan pause) : TimeProvider
    {
        private TimeSpan _passed;
        private int _looks;

        public override long TimestampFrequency => TimeSpan.TicksPerSecond;

        public override long GetTimestamp() => _passed.Ticks;

        public override DateTimeOffset GetUtcNow()
        {
            if (_looks++ % interruptEvery == 0)
                _passed += pause;
            return Noon + _passed;
        }
    }
}
