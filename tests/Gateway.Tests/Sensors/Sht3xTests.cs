using CsCheck;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Sht3x;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Sht3xTests
{
    private const int Address = 0x44;

    private static SimulatedSht3x Chip(double air = 33.4, double humidity = 41.5) => new(() => (air, humidity));

    [Theory]
    //          raw     air        humidity    source
    [InlineData(0x0000, -45.0, 0.0, "SHT3x data sheet, conversion formula: ends")]
    [InlineData(0x6666, 25.0, 40.0, "SHT3x data sheet, conversion formula, computed apart")]
    [InlineData(0x8000, 42.501335, 50.000763, "SHT3x data sheet, conversion formula, computed apart")]
    [InlineData(0xFFFF, 130.0, 100.0, "SHT3x data sheet, conversion formula: ends")]
    public void Words_decode_as_the_data_sheet_says(int raw, double air, double humidity, string source)
    {
        var chip = Chip();
        chip.Words = ((ushort)raw, (ushort)raw);
        using var bench = new Bench(ProbeKind.Sht3x, Address, chip);
        var values = bench.Decoded(ProbeKind.Sht3x);
        Published.Near(air, values.AirCelsius!.Value, 5e-7, source);
        Published.Near(humidity, values.HumidityPercent!.Value, 5e-7, source);
    }

    [Fact]
    public void A_larger_word_never_decodes_to_a_lower_value()
    {
        for (var raw = 1; raw <= 0xFFFF; raw++)
        {
            Assert.True(Sht3xSensor.AirCelsius((ushort)raw) > Sht3xSensor.AirCelsius((ushort)(raw - 1)));
            Assert.True(Sht3xSensor.HumidityPercent((ushort)raw) > Sht3xSensor.HumidityPercent((ushort)(raw - 1)));
        }
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused()
    {
        using var bench = new Bench(ProbeKind.Sht3x, Address, Chip());
        var (tried, refused) = bench.DamageEverything();
        // A command of two bytes and an answer of six.
        Assert.Equal(2 * 9 + 6 * 255, tried);
        Assert.Equal(tried, refused);
    }

    [Fact]
    public void A_wrong_check_byte_is_named_with_its_word()
    {
        var chip = Chip();
        chip.Words = (0x8000, 0x6666);
        using var bench = new Bench(ProbeKind.Sht3x, Address, chip);
        bench.Measured();
        bench.Bus.Fault = (_, reading, bytes) => bytes[^1] ^= (byte)(reading ? 1 : 0);
        // 0x93 is the check byte of 0x6666, computed apart with Python.
        bench.Rejected(RejectReason.CheckByte,
            "probe 2, SHT3x: check byte 0x92 of word 2, expected 0x93; look for a loose or long bus cable");
    }

    [Fact]
    public void Unlike_the_binding_a_damaged_frame_never_gives_the_previous_value()
    {
        // Why measuring is ours; should a newer binding change, this test says so.
        var chip = Chip();
        chip.Words = (0x6666, 0x6666);
        using var bench = new Bench(ProbeKind.Sht3x, Address, chip);
        using var binding = new Iot.Device.Sht3x.Sht3x(bench.Bus.CreateDevice(Address));
        Published.Near(25.0, binding.Temperature.DegreesCelsius, 0.05, "SHT3x data sheet formula at 0x6666");
        chip.Words = (0x8000, 0x8000);
        bench.Bus.Fault = (_, reading, bytes) => bytes[0] ^= (byte)(reading ? 1 : 0);
        Published.Near(25.0, binding.Temperature.DegreesCelsius, 0.05, "read in the binding's source: it keeps the old value");
        binding.Dispose();
        // Ours refuses it, here already the status word read when opening, which the same damage spoils.
        Assert.Equal(RejectReason.CheckByte, bench.Rejected().Reason);
        bench.Bus.Fault = null;
        Published.Near(42.501335, bench.Measured().AirCelsius!.Value, 5e-7, "SHT3x data sheet formula at 0x8000");
    }

    [Fact]
    public void Ours_and_the_binding_agree_on_whole_frames()
    {
        using var bench = new Bench(ProbeKind.Sht3x, Address, Chip(33.4, 41.5));
        using var binding = new Iot.Device.Sht3x.Sht3x(bench.Bus.CreateDevice(Address));
        var (air, humidity) = (binding.Temperature.DegreesCelsius, binding.Humidity.Percent);
        binding.Dispose();
        var values = bench.Measured();
        Published.Near(air, values.AirCelsius!.Value, 0.051, "the binding, rounded to tenths");
        Published.Near(humidity, values.HumidityPercent!.Value, 0.051, "the binding, rounded to tenths");
    }

    [Fact]
    public void An_unplugged_sensor_is_named_and_works_again_once_plugged_in()
    {
        using var bench = new Bench(ProbeKind.Sht3x, Address, Chip());
        bench.Measured();
        var chip = Assert.Single(bench.Bus.Detach(Address));
        bench.Rejected(RejectReason.NoAnswer,
            "probe 2, SHT3x: no answer at bus 1, address 0x44; check that it is plugged in, powered, and set to that address");
        Assert.Equal(RejectReason.NoAnswer, bench.Rejected().Reason);
        bench.Bus.Attach(Address, chip);
        bench.Measured();
    }

    [Fact]
    public void Two_sensors_at_one_address_are_refused_unless_they_say_the_same()
    {
        using var bench = new Bench(ProbeKind.Sht3x, Address, Chip(33.4, 41.5));
        bench.Bus.Attach(Address, Chip(21.9, 63.7));
        Assert.Equal(RejectReason.CheckByte, bench.Rejected().Reason);
    }

    [Fact]
    public void Its_heater_warms_what_it_measures_and_is_off_after_opening_anew()
    {
        using var bench = new Bench(ProbeKind.Sht3x, Address, Chip(20, 50));
        using var device = bench.Bus.CreateDevice(Address);
        using (var sensor = new Sht3xSensor(device, bench.Buses))
        {
            sensor.Heater = true;
            var heated = Assert.IsType<ReadOutcome.Measured>(sensor.Read()).Values.AirCelsius!.Value;
            Assert.True(heated > 21, $"{heated} °C");
        }

        using var again = new Sht3xSensor(device, bench.Buses);
        Published.Near(20, Assert.IsType<ReadOutcome.Measured>(again.Read()).Values.AirCelsius!.Value, 0.01, "by definition");
    }

    [Fact]
    public void Whatever_is_measured_comes_through_within_half_a_step() =>
        Gen.Select(Gen.Double[-45, 130], Gen.Double[0, 100]).Sample((air, humidity) =>
        {
            var chip = new SimulatedSht3x(() => (air, humidity));
            Span<byte> frame = stackalloc byte[6];
            chip.Write([0x24, 0x00]);
            chip.Read(frame);
            return Math.Abs(Sht3xSensor.AirCelsius(SensirionWord.At(frame, 0)) - air) <= 175 / 65535.0 / 2 + 1e-9
                && Math.Abs(Sht3xSensor.HumidityPercent(SensirionWord.At(frame, 1)) - humidity) <= 100 / 65535.0 / 2 + 1e-9;
        });
}
