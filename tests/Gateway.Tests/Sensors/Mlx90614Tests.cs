using CsCheck;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Mlx90614Tests
{
    private const int Address = 0x5A;

    private static SimulatedMlx90614 Chip(double apparent = 58.37, double body = 31.25, int address = Address) =>
        new(address, () => (apparent, body));

    [Theory]
    [InlineData(0x3AD2, 28.01, "MLX90614 data sheet example: 0x3AD2 is 301.16 K")]
    [InlineData(0x3A98, 26.85, "by definition: 15000 · 0.02 K = 300 K")]
    [InlineData(0x27AD, -70.01, "MLX90614 application note: least object temperature")]
    [InlineData(0x7FFF, 382.19, "MLX90614 application note: largest object temperature")]
    public void Object_words_decode_as_the_data_sheet_says(int word, double celsius, string source)
    {
        var chip = Chip();
        chip.ObjectWord = (ushort)word;
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        Published.Near(celsius, bench.Measured().ApparentCelsius!.Value, 0.0051, source);
    }

    [Fact]
    public void A_larger_word_never_decodes_to_a_lower_temperature()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        var before = double.NegativeInfinity;
        for (var word = 0x27AD; word <= 0x7FFF; word++)
        {
            chip.ObjectWord = (ushort)word;
            var celsius = bench.Measured().ApparentCelsius!.Value;
            Assert.True(celsius > before, $"0x{word:X4}: {celsius} after {before}");
            before = celsius;
        }
    }

    [Fact]
    public void Both_temperatures_come_through_the_bus_within_the_sensors_resolution()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip(58.37, 31.25));
        var values = bench.Measured();
        Published.Near(58.37, values.ApparentCelsius!.Value, 0.011, "by definition: resolution 0.02 K");
        Published.Near(31.25, values.SensorCelsius!.Value, 0.011, "by definition: resolution 0.02 K");
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip());
        var (tried, refused) = bench.DamageEverything();
        // Two reads of one command byte and three answered bytes.
        Assert.Equal(2 * (9 + 3 * 255), tried);
        Assert.Equal(tried, refused);
    }

    [Fact]
    public void A_wrong_check_byte_is_named_with_what_was_expected()
    {
        var chip = Chip();
        chip.ObjectWord = 0x3AD2;
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        bench.Measured();
        // 0x30 is the check byte of this transfer in the data sheet.
        bench.Bus.Fault = (_, reading, bytes) =>
        {
            if (reading && bytes[2] == 0x30)
                bytes[2] = 0x4C;
        };
        bench.Rejected(RejectReason.CheckByte,
            "probe 2, MLX90614: check byte 0x4C, expected 0x30; look for a loose or long bus cable");
    }

    [Fact]
    public void A_value_the_sensor_flags_as_wrong_is_refused_though_its_check_byte_is_right()
    {
        var chip = Chip();
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        bench.Measured();
        chip.ObjectWord = 0x8AD2;
        bench.Rejected(RejectReason.ErrorFlag,
            "probe 2, MLX90614: the sensor flags its value 0x8AD2 as wrong, expected below 0x8000; " +
            "let it warm up a second, then replace it");
        chip.ObjectWord = null;
        chip.Broken = true;
        Assert.Equal(RejectReason.ErrorFlag, bench.Rejected().Reason);
    }

    [Fact]
    public void The_binding_alone_would_have_taken_the_flagged_and_the_damaged_value()
    {
        // Why Mlx90614Wire exists; should a newer binding check, this test says so.
        var chip = Chip();
        chip.ObjectWord = 0x8AD2;
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        using var binding = new Iot.Device.Mlx90614.Mlx90614(bench.Bus.CreateDevice(Address));
        Published.Near(-873.0, binding.ReadObjectTemperature().DegreesCelsius, 1, "computed: 0x8AD2 as a signed word");
        chip.ObjectWord = 0x3AD2;
        bench.Bus.Fault = (_, reading, bytes) => bytes[0] ^= (byte)(reading ? 0x80 : 0);
        Published.Near(25.45, binding.ReadObjectTemperature().DegreesCelsius, 0.02, "computed: 0x3A52 · 0.02 K");
    }

    [Fact]
    public void A_dead_bus_held_low_or_high_is_refused()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip());
        bench.Measured();
        foreach (byte level in (byte[])[0x00, 0xFF])
        {
            bench.Bus.Fault = (_, reading, bytes) =>
            {
                if (reading)
                    bytes.Fill(level);
            };
            Assert.Equal(RejectReason.CheckByte, bench.Rejected().Reason);
        }
    }

    [Fact]
    public void An_unplugged_sensor_is_named_and_works_again_once_plugged_in()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip());
        bench.Measured();
        var chip = Assert.Single(bench.Bus.Detach(Address));
        for (var i = 0; i < 3; i++)
            bench.Rejected(RejectReason.NoAnswer,
                "probe 2, MLX90614: no answer at bus 1, address 0x5A; check that it is plugged in, powered, and set to that address");
        bench.Bus.Attach(Address, chip);
        bench.Measured();
    }

    [Fact]
    public void Two_sensors_at_one_address_are_refused_unless_they_say_the_same()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip(58.37, 31.25));
        bench.Bus.Attach(Address, Chip(24.11, 22.81));
        Assert.Equal(RejectReason.CheckByte, bench.Rejected().Reason);
    }

    [Fact]
    public void An_emissivity_kept_in_the_sensor_is_undone()
    {
        var chip = Chip(58.37, 31.25);
        using var bench = new Bench(ProbeKind.Mlx90614, Address, chip);
        using (var device = bench.Bus.CreateDevice(Address))
        using (var wire = new Mlx90614Wire(device))
            wire.WriteCell(Mlx90614Wire.EmissivityCommand, 0xF332, _ => { });
        chip.PowerCycle();
        Published.Near(58.37, bench.Measured().ApparentCelsius!.Value, 0.03, "by definition: what the chip sees as black");
    }

    [Fact]
    public void A_new_address_is_written_and_read_back()
    {
        using var bench = new Bench(ProbeKind.Mlx90614, 0x5B, Chip(address: 0x5B));
        var wire = new Mlx90614Wire(bench.Bus.CreateDevice(0x5B));
        var waits = new List<TimeSpan>();
        wire.WriteCell(Mlx90614Wire.AddressCommand, 0xBE2C, waits.Add);
        Assert.Equal(0xBE2C, wire.ReadWord(Mlx90614Wire.AddressCommand));
        // Application note 390119061402: 5 ms after erasing and after writing.
        Assert.Equal(2, waits.Count);
        Assert.All(waits, w => Assert.True(w >= TimeSpan.FromMilliseconds(5)));
    }

    [Fact]
    public void Random_damage_to_many_bytes_is_refused_but_for_the_one_in_256_no_check_byte_can_see() =>
        Gen.Byte.Array[3].Array[200].Sample(noise =>
        {
            using var bench = new Bench(ProbeKind.Mlx90614, Address, Chip());
            var whole = bench.Measured();
            var taken = 0;
            foreach (var flips in noise)
            {
                bench.Bus.Fault = (_, reading, bytes) =>
                {
                    for (var i = 0; reading && i < bytes.Length; i++)
                        bytes[i] ^= flips[i];
                };
                if (bench.Read() is ReadOutcome.Measured { Values: var values } && values != whole)
                    taken++;
            }

            // The same damage strikes two frames, so about one in 256 passes: 200 of them, with room.
            Assert.True(taken <= 8, $"{taken} of {noise.Length} damaged samples were taken");
        }, iter: 20);
}
