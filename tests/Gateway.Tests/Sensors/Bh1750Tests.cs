using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Bh1750Tests
{
    private const int Address = 0x23;

    private static SimulatedBh1750 Chip(Func<double> lux) => new(lux);

    [Theory]
    [InlineData(0)]
    [InlineData(12)]
    [InlineData(10_000)]
    [InlineData(98_000)]
    public void Light_comes_through_within_a_step_up_to_full_sun(double lux)
    {
        using var bench = new Bench(ProbeKind.Bh1750, Address, Chip(() => lux));
        // A step is 1.85 lx at the shortest measuring time; the binding rounds to tenths before we multiply.
        Published.Near(lux, bench.Measured().LightLux!.Value, 1.2, "by definition: the simulated truth");
    }

    [Fact]
    public void The_data_sheets_example_of_a_word_comes_out()
    {
        var chip = Chip(() => 0);
        chip.Word = 0x8390;
        using var bench = new Bench(ProbeKind.Bh1750, Address, chip);
        // 28067 lx at the usual measuring time of 69; ours is 31.
        Published.Near(28067 * 69 / 31.0, bench.Measured().LightLux!.Value, 1, "BH1750 data sheet, from memory: 0x8390 is 28067 lx");
    }

    [Fact]
    public void The_binding_alone_is_wrong_when_told_a_measuring_time()
    {
        // Why we set it ourselves; should a newer binding mend it, this test says so.
        using var bench = new Bench(ProbeKind.Bh1750, Address, Chip(() => 10_000));
        using var binding = new Iot.Device.Bh1750fvi.Bh1750fvi(bench.Bus.CreateDevice(Address), lightTransmittance: 2.22);
        Assert.InRange(binding.Illuminance.Lux, 2000, 2050);
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        using var bench = new Bench(ProbeKind.Bh1750, Address, Chip(() => 43_210));
        var (tried, _) = bench.DamageEverything();
        Assert.Equal(2 * 2 * 255, tried);
    }

    [Fact]
    public void Its_largest_value_is_refused()
    {
        using var bench = new Bench(ProbeKind.Bh1750, Address, Chip(() => 150_000));
        bench.Rejected(RejectReason.OutOfRange,
            "probe 2, BH1750: its largest value 0xFFFF; too bright, or the data line is not connected");
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(ProbeKind.Bh1750, Address, Chip(() => 43_210));
        bench.UnplugAndReplug(
            "probe 2, BH1750: no answer at bus 1, address 0x23; check that it is plugged in, powered, and set to that address");
    }

    [Fact]
    public void Losing_its_power_between_two_samples_is_noticed_and_set_right()
    {
        var chip = Chip(() => 43_210);
        using var bench = new Bench(ProbeKind.Bh1750, Address, chip);
        var whole = bench.Measured();
        chip.PowerCycle();
        bench.Rejected(RejectReason.NotReady,
            "probe 2, BH1750: 0 lx right after 19413 lx; it may have lost its power and is set up anew");
        Assert.Equal(whole, bench.Measured());
    }

    [Fact]
    public void Losing_its_power_in_the_dark_shows_at_the_latest_in_the_morning()
    {
        var light = 0.0;
        var chip = Chip(() => light);
        using var bench = new Bench(ProbeKind.Bh1750, Address, chip);
        Assert.Equal(0, bench.Measured().LightLux);
        chip.PowerCycle();
        Assert.Equal(0, bench.Measured().LightLux);
        light = 12;
        Published.Near(12, bench.Measured().LightLux!.Value, 1.2, "by definition: the simulated truth");
    }
}
