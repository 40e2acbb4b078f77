using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Ingest;

public sealed class GatewayClocksTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 12, 0, 0, TimeSpan.Zero);
    private static readonly GatewayId NorthGate = GatewayId.Parse("north-gate");
    private static readonly GatewayId Quarry = GatewayId.Parse("quarry");
    private static readonly GatewayId Mill = GatewayId.Parse("mill");

    private readonly SteadyTime _time = new();
    private readonly ServiceFaults _faults;
    private readonly GatewayClocks _clocks;

    public GatewayClocksTests()
    {
        _faults = new ServiceFaults(_time);
        _clocks = new GatewayClocks(_faults, Options.Create(new IngestOptions()), _time);
    }

    [Theory]
    //          ahead, s  statuses  fault
    [InlineData(119, 2, null)]
    [InlineData(-119, 2, null)]
    [InlineData(121, 1, "2 min ahead of")]
    [InlineData(7380, 1, "2.0 h ahead of")]
    [InlineData(-7380, 1, null)] // It may have been two hours on its way.
    [InlineData(-7380, 2, "2.0 h behind")]
    [InlineData(-34_560_000, 2, "400 days behind")]
    public void Difference_over_two_intervals_is_a_fault_with_its_size_and_direction(int aheadSeconds, int statuses, string? words)
    {
        for (var i = 0; i < statuses; i++)
            _clocks.Hear(NorthGate, _time.GetUtcNow().AddSeconds(aheadSeconds));

        if (words is null)
            Assert.Empty(_faults.Standing);
        else
            Assert.Contains(words, Assert.Single(_faults.Standing, fault => fault.Key == "clock.north-gate").Words, StringComparison.Ordinal);
        Assert.Equal(words is not null, _clocks.IsOwnInDoubt);
    }

    [Fact]
    public void Fault_ends_when_the_clocks_agree()
    {
        _clocks.Hear(NorthGate, Noon.AddHours(1));
        _clocks.Hear(NorthGate, Noon);

        Assert.Empty(_faults.Standing);
        Assert.False(_clocks.IsOwnInDoubt);
    }

    [Fact]
    public void Own_clock_that_is_set_far_ahead_is_noticed_before_any_gateway_speaks_again()
    {
        _clocks.Hear(NorthGate, Noon);
        _clocks.Hear(Quarry, Noon);

        _time.Set(TimeSpan.FromDays(400));
        _clocks.Look();

        Assert.True(_clocks.IsOwnInDoubt);
        Assert.Equal(["clock.north-gate", "clock.quarry"], _faults.Standing.Select(fault => fault.Key).Order());
    }

    [Fact]
    public void Gateways_clock_that_jumps_between_two_statuses_is_told_from_its_packs()
    {
        _clocks.Hear(NorthGate, Noon);
        Pack(TimeSpan.Zero);
        Assert.Empty(_faults.Standing);

        Pack(TimeSpan.FromHours(3));
        Assert.Contains("3.0 h ahead of", Assert.Single(_faults.Standing).Words, StringComparison.Ordinal);
        Pack(TimeSpan.Zero);
        Assert.Empty(_faults.Standing);

        // One that seems behind may have been on its way; the second cannot.
        Pack(TimeSpan.FromHours(-3));
        Assert.Empty(_faults.Standing);
        Pack(TimeSpan.FromHours(-3));
        Assert.Contains("3.0 h behind", Assert.Single(_faults.Standing).Words, StringComparison.Ordinal);

        void Pack(TimeSpan ahead)
        {
            _time.Pass(TimeSpan.FromMinutes(1));
            _clocks.HearPack(NorthGate, _time.GetUtcNow() + ahead);
        }
    }

    [Fact]
    public void Own_clock_that_jumps_between_two_statuses_is_noticed_at_the_next_pack()
    {
        _clocks.Hear(NorthGate, Noon);
        _clocks.Hear(Quarry, Noon);
        _time.Set(TimeSpan.FromHours(-2));

        _clocks.HearPack(Quarry, Noon);

        Assert.True(_clocks.IsOwnInDoubt);
        Assert.Equal(["clock.north-gate", "clock.quarry"], _faults.Standing.Select(fault => fault.Key).Order());
    }

    [Fact]
    public void One_wrong_gateway_of_three_does_not_put_the_servers_own_clock_in_doubt()
    {
        _clocks.Hear(NorthGate, Noon);
        _clocks.Hear(Quarry, Noon.AddHours(1));
        _clocks.Hear(Mill, Noon);

        Assert.False(_clocks.IsOwnInDoubt);
        Assert.Single(_faults.Standing);
    }

    [Fact]
    public void Gateway_that_is_silent_or_removed_says_nothing_any_more()
    {
        _clocks.Hear(NorthGate, Noon.AddHours(1));
        _clocks.Hear(Quarry, Noon.AddHours(1));
        _clocks.Forget(Quarry);
        _time.Pass(TimeSpan.FromMinutes(31));
        _clocks.Look();

        Assert.Empty(_faults.Standing);
        Assert.False(_clocks.IsOwnInDoubt);
    }

    /// <summary>A machine's clocks: the calendar can be set, the time since boot only passes.</summary>
    private sealed class SteadyTime : TimeProvider
    {
        private TimeSpan _sinceBoot;
        private TimeSpan _set;

        public override long TimestampFrequency => TimeSpan.TicksPerSecond;

        public void Pass(TimeSpan time) => _sinceBoot += time;

        public void Set(TimeSpan ahead) => _set += ahead;

        public override DateTimeOffset GetUtcNow() => Noon + _sinceBoot + _set;

        public override long GetTimestamp() => _sinceBoot.Ticks;
    }
}
