using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Sensors.Tca9548a;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Tca9548aTests
{
    private const int Mux = 0x70;
    private const int Sensor = 0x5A;

    private static SimulatedMlx90614 Chip(double celsius) => new(Sensor, () => (celsius, 25));

    private static ProbeOptions Probe(int channel, int mux = Mux) => new()
    {
        Kind = ProbeKind.Mlx90614,
        Address = Sensor,
        Multiplexer = mux,
        Channel = channel,
        Spot = "plaza",
    };

    [Fact]
    public void Sensors_of_one_address_on_eight_channels_of_two_multiplexers_keep_apart()
    {
        using var world = new SimulatedBuses();
        using var multiplexers = new Multiplexers(world);
        List<(Mlx90614Sensor Sensor, double Celsius)> sensors = [];
        foreach (var mux in (int[])[0x70, 0x71])
        {
            var chip = new SimulatedTca9548a();
            world.Simulated(1).Attach(mux, chip);
            for (var channel = 0; channel < 8; channel++)
            {
                var celsius = 20 + 10 * (mux - 0x70) + channel;
                chip.Attach(channel, Sensor, Chip(celsius));
                sensors.Add((new Mlx90614Sensor(multiplexers.Device(1, mux, channel, Sensor)), celsius));
            }
        }

        for (var round = 0; round < 3; round++)
        {
            foreach (var (sensor, celsius) in sensors)
            {
                var values = Assert.IsType<ReadOutcome.Measured>(sensor.Read()).Values;
                Published.Near(celsius, values.ApparentCelsius!.Value, 0.011, "by definition: the simulated truth");
            }

            sensors.Reverse();
        }
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        // The other channel is open when each sample starts, so that a damaged choice would give a whole frame of the other.
        using var bench = new Bench(Probe(3));
        var mux = new SimulatedTca9548a();
        mux.Attach(3, Sensor, Chip(58));
        mux.Attach(5, Sensor, Chip(22));
        bench.Bus.Attach(Mux, mux);
        bench.Measured();
        bench.BeforeDamaged = () => mux.Write([1 << 5]);
        var (tried, _) = bench.DamageEverything();
        Assert.True(tried > 2000, $"{tried}");
    }

    [Fact]
    public void A_multiplexer_that_lost_its_power_is_opened_again_though_the_binding_thinks_it_is_open()
    {
        using var bench = new Bench(Probe(3));
        var mux = new SimulatedTca9548a();
        mux.Attach(3, Sensor, Chip(58));
        bench.Bus.Attach(Mux, mux);
        var whole = bench.Measured();
        mux.PowerCycle();
        Assert.Equal(whole, bench.Measured());
    }

    [Fact]
    public void An_unplugged_multiplexer_or_sensor_is_named_with_its_channel()
    {
        using var bench = new Bench(Probe(3));
        var mux = new SimulatedTca9548a();
        mux.Attach(3, Sensor, Chip(58));
        bench.Bus.Attach(Mux, mux);
        var whole = bench.Measured();
        bench.Bus.Detach(Mux);
        bench.Rejected(RejectReason.NoAnswer,
            "probe 2, MLX90614: no answer at bus 1, multiplexer 0x70, channel 3, address 0x5A; " +
            "check that multiplexer and sensor are plugged in and powered");
        bench.Bus.Attach(Mux, mux);
        Assert.Equal(whole, bench.Measured());
    }

    [Fact]
    public void A_multiplexer_that_does_not_open_its_channel_is_refused()
    {
        using var bench = new Bench(Probe(3));
        var mux = new SimulatedTca9548a();
        mux.Attach(3, Sensor, Chip(58));
        bench.Bus.Attach(Mux, mux);
        bench.Measured();
        mux.PowerCycle();
        bench.Bus.Fault = (address, reading, bytes) =>
        {
            if (address == Mux && !reading)
                bytes.Clear();
        };
        bench.Rejected(RejectReason.CheckByte,
            "probe 2, MLX90614: multiplexer 0x70 has 0x00 open, expected channel 3 (0x08); check its supply and its cable");
    }
}
