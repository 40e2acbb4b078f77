using Microsoft.Extensions.Time.Testing;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Tests.Faults;

public sealed class ServiceFaultsTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 12, 0, 0, TimeSpan.Zero);
    private readonly FakeTimeProvider _time = new(Noon);

    [Fact]
    public void Fault_raised_again_keeps_its_start_and_takes_the_newer_words()
    {
        var faults = new ServiceFaults(_time);
        faults.Raise("store.full", "no room");
        _time.Advance(TimeSpan.FromMinutes(5));
        faults.Raise("store.full", "still no room");

        Assert.Equal(new ServiceFault("store.full", "still no room", Noon), Assert.Single(faults.Standing));
    }

    [Fact]
    public void Fault_that_ended_stands_no_more_and_others_stay()
    {
        var faults = new ServiceFaults(_time);
        faults.Raise("store.full", "no room");
        faults.Raise("clock.north-gate", "an hour slow");
        faults.End("store.full");
        faults.End("store.full");

        Assert.Equal("clock.north-gate", Assert.Single(faults.Standing).Key);
    }
}
