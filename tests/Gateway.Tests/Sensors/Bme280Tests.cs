using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Bme280Tests
{
    private const int Address = 0x76;

    private static SimulatedBme280 Chip(double air = 33.4, double humidity = 41.5) => new(() => (air, humidity));

    [Fact]
    public void The_worked_example_of_the_compensation_comes_out()
    {
        // Trimming and raw values of the example; the simulation keeps these trimming values.
        var chip = Chip();
        chip.Raw = (519888, 415148, 25000);
        using var bench = new Bench(ProbeKind.Bme280, Address, chip);
        var values = bench.Measured();
        const string source = "Bosch's published formulas on the BMP280 data sheet's example, computed apart";
        Published.Near(25.08248, values.AirCelsius!.Value, 5e-6, source);
        Published.Near(100653.25, values.PressurePascals!.Value, 0.1, source);
        Published.Near(20.77931, values.HumidityPercent!.Value, 0.001, source);
    }

    [Theory]
    [InlineData(-20, 85)]
    [InlineData(0, 0.5)]
    [InlineData(33.4, 41.5)]
    [InlineData(60, 99)]
    public void What_is_measured_comes_through_within_a_step(double air, double humidity)
    {
        using var bench = new Bench(ProbeKind.Bme280, Address, Chip(air, humidity));
        var values = bench.Decoded(ProbeKind.Bme280);
        Published.Near(air, values.AirCelsius!.Value, 0.001, "by definition: the simulated truth");
        Published.Near(humidity, values.HumidityPercent!.Value, 0.01, "by definition: the simulated truth");
    }

    [Fact]
    public void A_larger_raw_temperature_never_decodes_to_a_lower_one()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Bme280, Address, chip);
        var before = double.NegativeInfinity;
        for (var raw = 320000; raw < 700000; raw += 97)
        {
            chip.Raw = (raw, 415148, 25000);
            var celsius = bench.Decoded(ProbeKind.Bme280).AirCelsius!.Value;
            Assert.True(celsius > before, $"{raw}: {celsius} after {before}");
            before = celsius;
        }
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        using var bench = new Bench(ProbeKind.Bme280, Address, Chip());
        var (tried, _) = bench.DamageEverything();
        // Two bursts of a register number and thirteen bytes.
        Assert.Equal(2 * (9 + 13 * 255), tried);
    }

    [Fact]
    public void Reads_that_never_agree_are_refused()
    {
        using var bench = new Bench(ProbeKind.Bme280, Address, Chip());
        bench.Measured();
        var count = 0;
        bench.Bus.Fault = (_, reading, bytes) => bytes[^1] ^= (byte)(reading ? ++count : 0);
        bench.Rejected(RejectReason.CheckByte,
            "probe 2, BME280: 4 reads in a row all differ, expected two alike; look for a loose or long bus cable");
    }

    [Fact]
    public void A_bmp280_in_its_place_is_named()
    {
        var chip = Chip();
        chip.Id = 0x58;
        using var bench = new Bench(ProbeKind.Bme280, Address, chip);
        bench.Rejected(RejectReason.WrongDevice,
            "probe 2, BME280: chip id 0x58, expected 0x60; this is a BMP280, which has no humidity");
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(ProbeKind.Bme280, Address, Chip());
        bench.UnplugAndReplug(
            "probe 2, BME280: no answer at bus 1, address 0x76; check that it is plugged in, powered, and set to that address");
    }

    [Fact]
    public void Losing_its_power_between_two_samples_is_noticed_and_set_right()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Bme280, Address, chip);
        bench.Measured();
        chip.PowerCycle();
        bench.Rejected(RejectReason.NotReady,
            "probe 2, BME280: settings 0x00 0x00, expected 0x01 0x27; it lost its power and is set up anew");
        bench.Measured();
    }

    [Fact]
    public void Two_sensors_at_one_address_are_refused_or_out_of_range()
    {
        // Without a check byte nothing but ranges can tell: a limit of this sensor, said in its README.
        using var bench = new Bench(ProbeKind.Bme280, Address, Chip(33.4, 41.5));
        var other = Chip(-12, 99);
        other.Id = 0x58;
        bench.Bus.Attach(Address, other);
        Assert.Equal(RejectReason.WrongDevice, bench.Rejected().Reason);
    }

    [Theory]
    [InlineData(900000, 415148, "air")]
    [InlineData(519888, 1000, "pressure")]
    public void A_value_its_data_sheet_does_not_allow_is_refused(int temperature, int pressure, string what)
    {
        var chip = Chip();
        chip.Raw = (temperature, pressure, 25000);
        using var bench = new Bench(ProbeKind.Bme280, Address, chip);
        var rejected = bench.Rejected();
        Assert.Equal(RejectReason.OutOfRange, rejected.Reason);
        Assert.StartsWith($"probe 2, BME280: {what} is ", rejected.Detail, StringComparison.Ordinal);
    }
}
