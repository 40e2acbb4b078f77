using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Tests.Outbox;

namespace PavementWatch.Gateway.Tests.Commands;

/// <summary>What can be made to go wrong with a simulated gateway.</summary>
public sealed class MishapsTests : IDisposable
{
    private readonly SimulatedBuses _buses = SimulatedBuses.OfOneMlx90614();
    private readonly FakeTimeProvider _time = new(Some.Noon);
    private readonly SettableClock _clock;
    private readonly Mishaps _mishaps;

    public MishapsTests()
    {
        _clock = new SettableClock(_time);
        _mishaps = new Mishaps(_buses, _clock, TextReader.Null, NullLogger<Mishaps>.Instance);
    }

    public void Dispose()
    {
        _mishaps.Dispose();
        _buses.Dispose();
    }

    [Fact]
    public void Clock_is_set_and_time_since_boot_runs_on()
    {
        var began = _clock.GetTimestamp();
        Assert.True(_mishaps.Happen("clock -00:20:00"));
        _time.Advance(TimeSpan.FromMinutes(1));

        Assert.Equal(Some.Noon.AddMinutes(-19), _clock.GetUtcNow());
        Assert.Equal(TimeSpan.FromMinutes(1), _clock.GetElapsedTime(began));
    }

    [Fact]
    public void Bad_cable_damages_about_its_share_of_the_transfers_until_it_is_mended()
    {
        Assert.True(_mishaps.Happen("bus 0.25"));
        // The command and the answer each get through with 0.75: 1000 · (1 − 0.75²) = 437 expected, standard deviation 16.
        Assert.InRange(Damaged(1000), 437 - (4 * 16), 437 + (4 * 16));

        Assert.True(_mishaps.Happen("bus 0"));
        Assert.Equal(0, Damaged(100));
    }

    [Theory]
    [InlineData("")]
    [InlineData("bus")]
    [InlineData("bus 1.5")]
    [InlineData("clock tomorrow")]
    [InlineData("disk full")]
    public void Line_that_tells_no_mishap_is_refused(string line) => Assert.False(_mishaps.Happen(line));

    private int Damaged(int transfers)
    {
        using var sensor = _buses.I2c(1).CreateDevice(0x5A);
        Span<byte> whole = stackalloc byte[3], seen = stackalloc byte[3];
        var fault = _buses.Simulated(1).Fault;
        _buses.Simulated(1).Fault = null;
        sensor.WriteRead([0x07], whole);
        _buses.Simulated(1).Fault = fault;
        var damaged = 0;
        for (var i = 0; i < transfers; i++)
        {
            try
            {
                seen.Clear();
                sensor.WriteRead([0x07], seen);
                damaged += seen.SequenceEqual(whole) ? 0 : 1;
            }
            catch (IOException)
            {
                damaged++;
            }
        }

        return damaged;
    }
}
