using Microsoft.Extensions.Logging.Abstractions;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Tests.Outbox;

namespace PavementWatch.Gateway.Tests.Clock;

/// <summary>Readings through a Pi's mornings: no time at first, a clock chip, jumps. The wall clock is the test's.</summary>
public sealed class GatewayClockTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly TestWallClock _wall = new();
    private readonly ReadingOutbox _outbox;

    public GatewayClockTests() => _outbox = Some.Open(_folder["outbox.db"]);

    public void Dispose()
    {
        _outbox.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Readings_before_the_time_is_known_are_held_and_then_dated_right()
    {
        _wall.Now = new DateTimeOffset(1970, 1, 1, 0, 1, 0, TimeSpan.Zero);
        var clock = Clock();
        Minutes(clock, 5);
        Assert.Empty(_outbox.Peek(10));
        Assert.Equal(("unknown", 5L), (clock.Source, _outbox.State().Held));

        _wall.Now = Some.Noon;
        _wall.Trusted = true;
        clock.Observe();

        // The last was taken now; the others each a minute before.
        Assert.Equal([-4, -3, -2, -1, 0], _outbox.Minutes());
        Assert.Equal("network", clock.Source);
        Minutes(clock, 2);
        Assert.Equal([-4, -3, -2, -1, 0, 1, 2], _outbox.Minutes());
    }

    [Fact]
    public void Clock_chip_gives_the_time_until_the_network_does_and_is_then_set()
    {
        _wall.Now = new DateTimeOffset(2025, 3, 1, 0, 0, 0, TimeSpan.Zero);
        var chip = new TestChip { Says = Some.Noon.AddMinutes(-10) };
        var clock = Clock(chip);
        Minutes(clock, 3);
        Assert.Equal("chip", clock.Source);
        Assert.Equal([-9, -8, -7], _outbox.Minutes());

        // The chip was ten minutes late; what was not sent moves with the better time.
        _wall.Now = Some.Noon.AddMinutes(3);
        _wall.Trusted = true;
        Minutes(clock, 1);

        Assert.Equal("network", clock.Source);
        Assert.Equal([1, 2, 3, 4], _outbox.Minutes());
        Assert.Equal(Some.Noon.AddMinutes(3), chip.SetTo);
    }

    [Fact]
    public void Time_from_the_network_is_counted_on_when_trust_in_it_is_lost_whatever_the_chip_said_at_the_start()
    {
        _wall.Now = Some.Noon;
        var chip = new TestChip { Says = Some.Noon.AddHours(-3) };
        var clock = Clock(chip);
        _wall.Trusted = true;
        Minutes(clock, 1);

        _wall.Trusted = false;
        Minutes(clock, 3);

        Assert.Equal([1, 2, 3, 4], _outbox.Minutes());
        Assert.Equal("network", clock.Source);
        Assert.All(_outbox.Peek(10), entry => Assert.Equal(Doubt.None, entry.Reading.Doubt));
    }

    [Fact]
    public void What_the_server_put_off_is_dated_anew_when_the_clock_is_set_right()
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon.AddHours(2), true);
        var clock = Clock();
        Minutes(clock, 3);
        List<long> sent = [.. _outbox.Peek(100).Select(entry => entry.Number)];
        _outbox.HandOver(sent);
        _outbox.PutOff(sent, "dated by another clock");
        Assert.Empty(_outbox.Peek(100));

        _wall.Now = Some.Noon.AddMinutes(3);
        Minutes(clock, 1);

        Assert.Equal([1, 2, 3, 4], _outbox.Minutes());
        Assert.Equal(0, _outbox.State().PutOff);
    }

    [Fact]
    public void Chip_that_lost_its_time_is_not_believed()
    {
        var clock = Clock(new TestChip { Says = new DateTimeOffset(2000, 1, 1, 0, 0, 0, TimeSpan.Zero) });

        Minutes(clock, 1);

        Assert.Equal(("unknown", 1L), (clock.Source, _outbox.State().Held));
    }

    [Fact]
    public void Clock_set_back_neither_doubles_nor_reorders_and_marks_its_readings()
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon, true);
        var clock = Clock();
        Minutes(clock, 10);
        // All sent: only the clock itself can keep later readings from taking the same minutes again.
        _outbox.Remove([.. _outbox.Peek(100).Select(entry => entry.Number)]);

        _wall.Now -= TimeSpan.FromMinutes(7);
        Minutes(clock, 20);

        var times = _outbox.Peek(100).Select(entry => entry.Reading.MeasuredAt).ToList();
        Assert.Equal(20, times.Count);
        Assert.Equal(times.Order().Distinct(), times);
        Assert.True(times[0] > Some.Noon.AddMinutes(10));
        Assert.Equal(Some.Noon.AddMinutes(23), times[^1]);
        var first = _outbox.Peek(1)[0].Reading;
        Assert.Equal((ReadingQuality.Suspect, Doubt.Clock), (first.Quality, first.Doubt));
        Assert.Equal((ReadingQuality.Good, Doubt.None), (_outbox.Peek(100)[^1].Reading.Quality, _outbox.Peek(100)[^1].Reading.Doubt));
        Assert.Equal(0, _outbox.State().Counts[OutboxCount.Duplicate]);
    }

    [Fact]
    public void Restart_after_the_clock_went_back_does_not_take_sent_minutes_again()
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon, true);
        Minutes(Clock(), 10);
        _outbox.Remove([.. _outbox.Peek(100).Select(entry => entry.Number)]);

        _wall.Restart(Some.Noon.AddMinutes(5));
        Minutes(Clock(), 3);

        Assert.All(_outbox.Peek(100), entry => Assert.True(entry.Reading.MeasuredAt > Some.Noon.AddMinutes(10)));
    }

    [Theory]
    [InlineData(false, "while it runs")]
    [InlineData(true, "over a restart")]
    public void Clock_set_back_by_hours_gives_second_readings_moments_of_their_own_and_marks_them(bool restart, string when)
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon, true);
        var clock = Clock();
        Minutes(clock, 10);
        var sent = _outbox.Peek(100);
        _outbox.Remove([.. sent.Select(entry => entry.Number)]);

        _wall.Now = Some.Noon.AddHours(-2);
        if (restart)
            _wall.Restart(Some.Noon.AddHours(-2));
        Minutes(restart ? Clock() : clock, 140);

        var again = _outbox.Peek(1000).Select(entry => entry.Reading).ToList();
        Assert.Equal(140, again.Count);
        Assert.True(!again.Select(reading => reading.MeasuredAt).Intersect(sent.Select(entry => entry.Reading.MeasuredAt)).Any(), when);
        Assert.Equal(again.OrderBy(reading => reading.MeasuredAt), again);
        Assert.All(again, reading => Assert.Equal(reading.MeasuredAt <= sent[^1].Reading.MeasuredAt.AddSeconds(1), reading.Doubt == Doubt.Clock));
    }

    [Fact]
    public void Clock_set_back_by_hours_again_and_again_gives_each_reading_a_moment_of_its_own()
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon, true);
        var clock = Clock();
        HashSet<DateTimeOffset> given = [];
        for (var round = 0; round < 4; round++)
        {
            Minutes(clock, 130);
            var taken = _outbox.Peek(1000);
            Assert.All(taken, entry => Assert.True(given.Add(entry.Reading.MeasuredAt), $"round {round}: {entry.Reading.MeasuredAt:O} comes a second time"));
            // All of it is sent before the clock is set: nothing is left to be dated anew.
            _outbox.HandOver([.. taken.Select(entry => entry.Number)]);
            _outbox.Remove([.. taken.Select(entry => entry.Number)]);
            _wall.Now = Some.Noon;
        }

        Assert.Equal(4 * 130, given.Count);
    }

    [Fact]
    public void Start_on_a_full_disk_that_tells_nothing_takes_no_moment_of_before_again()
    {
        (_wall.Now, _wall.Trusted) = (Some.Noon, true);
        Minutes(Clock(), 10);
        var before = _outbox.Peek(100).Select(entry => entry.Reading.MeasuredAt).ToList();
        _wall.Restart(Some.Noon);
        // A folder stands where the file should be.
        Directory.CreateDirectory(_folder["unreadable.db"]);
        using var unreadable = Some.Open(_folder["unreadable.db"]);
        var clock = new GatewayClock(_wall, unreadable, [], NullLogger<GatewayClock>.Instance);

        Minutes(clock, 10, unreadable);

        var after = unreadable.Peek(100).Select(entry => entry.Reading.MeasuredAt).ToList();
        Assert.Equal(10, after.Count);
        Assert.Empty(after.Intersect(before));
        Assert.All(after.Zip(before), pair => Assert.InRange(pair.First - pair.Second, TimeSpan.FromMilliseconds(1), TimeSpan.FromSeconds(1)));
    }

    private GatewayClock Clock(params IClockChip[] chips) => new(_wall, _outbox, chips, NullLogger<GatewayClock>.Instance);

    private void Minutes(GatewayClock clock, int count, ReadingOutbox? outbox = null)
    {
        for (var minute = 0; minute < count; minute++)
        {
            clock.Observe();
            _wall.Pass(TimeSpan.FromMinutes(1));
            clock.Observe();
            (outbox ?? _outbox).Append([clock.Date(new Reading(SpotId.Parse("quarry-steps"), clock.SamplingNow) { SurfaceCelsius = 40, Quality = ReadingQuality.Good })]);
        }
    }

    private sealed class TestWallClock : IWallClock
    {
        public string Boot { get; private set; } = "boot-1";

        public TimeSpan SinceBoot { get; private set; } = TimeSpan.FromSeconds(60);

        public DateTimeOffset Now { get; set; } = SystemClock.Earliest;

        public bool Trusted { get; set; }

        public WallLook Look() => new(SinceBoot, Now, Trusted);

        public void Pass(TimeSpan time)
        {
            SinceBoot += time;
            Now += time;
        }

        public void Restart(DateTimeOffset now) => (Boot, SinceBoot, Now) = ("boot-2", TimeSpan.FromSeconds(20), now);
    }

    private sealed class TestChip : IClockChip
    {
        public bool IsFitted => true;

        public DateTimeOffset? Says { get; init; }

        public DateTimeOffset? SetTo { get; private set; }

        public DateTimeOffset? Read() => Says;

        public void Set(DateTimeOffset now) => SetTo = now;
    }
}
