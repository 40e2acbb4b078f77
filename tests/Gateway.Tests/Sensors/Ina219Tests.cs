using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Ina219Tests
{
    private const int Address = 0x40;

    private static SimulatedIna219 Chip(double volts = 12.48) => new(() => volts);

    [Theory]
    [InlineData(0)]
    [InlineData(5.104)]
    [InlineData(12.48)]
    [InlineData(16.38)]
    [InlineData(16.384)]
    [InlineData(24.5)]
    [InlineData(26)]
    public void Volts_come_through_within_a_step(double volts)
    {
        using var bench = new Bench(ProbeKind.Ina219, Address, Chip(volts));
        Published.Near(volts, bench.Measured().SupplyVolts!.Value, 0.0021, "by definition: 4 mV a step");
    }

    [Fact]
    public void The_binding_alone_gives_a_negative_voltage_for_a_supply_of_24_volts()
    {
        // Why we add 32.768 V; should a newer binding mend it, this test says so.
        using var bench = new Bench(ProbeKind.Ina219, Address, Chip(24.5));
        using var binding = new Iot.Device.Adc.Ina219(bench.Bus.CreateDevice(Address));
        Published.Near(24.5 - 32.768, binding.ReadBusVoltage().Volts, 0.0041, "computed: the word as a signed one");
    }

    [Fact]
    public void A_larger_word_never_decodes_to_a_lower_voltage()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Ina219, Address, chip);
        var before = -1.0;
        for (var steps = 0; steps <= 6500; steps += 13)
        {
            chip.BusWord = (ushort)(steps << 3);
            var volts = bench.Measured().SupplyVolts!.Value;
            Assert.True(volts > before, $"{steps}: {volts} after {before}");
            before = volts;
        }
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        using var bench = new Bench(ProbeKind.Ina219, Address, Chip());
        var (tried, _) = bench.DamageEverything();
        // Settings and voltage, each read twice: a register number and two bytes.
        Assert.Equal(4 * (9 + 2 * 255), tried);
    }

    [Fact]
    public void More_than_it_bears_is_refused()
    {
        using var bench = new Bench(ProbeKind.Ina219, Address, Chip(28));
        bench.Rejected(RejectReason.OutOfRange,
            "probe 2, INA219: 28.00 V, expected 0 to 26 V; switch off at once and check the supply");
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(ProbeKind.Ina219, Address, Chip());
        bench.UnplugAndReplug(
            "probe 2, INA219: no answer at bus 1, address 0x40; check that it is plugged in, powered, and set to that address");
    }

    [Fact]
    public void Losing_its_power_between_two_samples_is_noticed_and_set_right()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Ina219, Address, chip);
        bench.Measured();
        chip.PowerCycle();
        bench.Rejected(RejectReason.NotReady,
            "probe 2, INA219: settings 0x399F, expected 0x3F9E; it lost its power and is set up anew");
        bench.Measured();
    }
}
