using System.Globalization;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Ds18b20;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Ds18b20Tests
{
    private const string Device = "28-0316a2795b1c";

    private static string File(string hex, int thousandths) =>
        $"{hex} : crc={hex[^2..]} YES\n{hex} t={thousandths}\n";

    [Theory]
    [InlineData("70 01 4b 46 7f ff 10 10 e1", 23000, 23.0, "genuine sample from a public test file")]
    [InlineData("2b 01 55 05 7f a5 81 66 cf", 18687, 18.6875, "genuine sample from a public test file")]
    [InlineData("6c 01 4b 46 7f ff 04 10 5d", 22750, 22.75, "genuine sample from a public test file")]
    [InlineData("73 01 4b 46 7f ff 0d 10 41", 23187, 23.1875, "genuine sample from a public test file")]
    [InlineData("96 01 4b 46 7f ff 0c 10 a0", 25375, 25.375, "genuine sample from a public test file")]
    [InlineData("b8 01 4b 46 7f ff 08 10 8a", 27500, 27.5, "genuine sample from a public test file")]
    [InlineData("d0 07 4b 46 7f ff 0c 10 f4", 125000, 125, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("91 01 4b 46 7f ff 0c 10 70", 25062, 25.0625, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("08 00 4b 46 7f ff 0c 10 e2", 500, 0.5, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("00 00 4b 46 7f ff 0c 10 c8", 0, 0, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("f8 ff 4b 46 7f ff 0c 10 c3", -500, -0.5, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("5e ff 4b 46 7f ff 0c 10 6a", -10125, -10.125, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("6f fe 4b 46 7f ff 0c 10 e8", -25062, -25.0625, "DS18B20 data sheet table from memory, check byte computed apart")]
    [InlineData("90 fc 4b 46 7f ff 0c 10 4f", -55000, -55, "DS18B20 data sheet table from memory, check byte computed apart")]
    public void The_kernels_file_decodes(string hex, int thousandths, double celsius, string source) =>
        Published.Near(
            celsius,
            Assert.IsType<ReadOutcome.Measured>(Ds18b20Sensor.Parse(File(hex, thousandths))).Values.ContactCelsius!.Value,
            0,
            source);

    [Theory]
    [InlineData("50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000", RejectReasonName.NotReady, "85 °C, its value after power-on before it has measured; check that its supply is steady")]
    [InlineData("70 01 4b 46 7f ff 10 10 e1 : crc=e1 NO\n70 01 4b 46 7f ff 10 10 e1 t=23000", RejectReasonName.CheckByte, "the kernel did not accept the bytes; look for a loose or long cable")]
    [InlineData("71 01 4b 46 7f ff 10 10 e1 : crc=e1 YES\n71 01 4b 46 7f ff 10 10 e1 t=23062", RejectReasonName.CheckByte, "check byte 0xE1, expected 0xA2; look for a loose or long cable")]
    [InlineData("70 01 4b 46 7f ff 10 10 e1 : crc=e1 YES\n70 01 4b 46 7f ff 10 10 e1 t=32000", RejectReasonName.CheckByte, "the kernel says 't=32000', expected t=23000 from the bytes; read again")]
    [InlineData("00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0", RejectReasonName.NoAnswer, "all bytes are 0; the data line is held low, look for a short or a missing pull-up resistor")]
    [InlineData("ff ff ff ff ff ff ff ff ff : crc=c9 NO\n70 01 4b 46 7f ff 10 10 e1 t=23000", RejectReasonName.CheckByte, "check byte 0xFF, expected 0xC9; look for a loose or long cable")]
    [InlineData("", RejectReasonName.CheckByte, "its file holds 0 lines that are not two of nine bytes; look for a loose cable or a missing pull-up resistor")]
    [InlineData("70 01 4b 46 7f ff 10 10 e1 : crc=e1 YES", RejectReasonName.CheckByte, "its file holds 1 lines that are not two of nine bytes; look for a loose cable or a missing pull-up resistor")]
    public void What_is_wrong_with_a_file_is_named(string file, RejectReasonName reason, string detail)
    {
        var rejected = Assert.IsType<ReadOutcome.Rejected>(Ds18b20Sensor.Parse(file));
        Assert.Equal(detail, rejected.Detail);
        Assert.Equal(reason.ToString(), rejected.Reason.ToString());
    }

    [Fact]
    public void Samples_invented_for_other_peoples_tests_are_refused()
    {
        // Check byte and value disagree with their own bytes in both.
        Assert.IsType<ReadOutcome.Rejected>(Ds18b20Sensor.Parse(File("6a fe 4b 46 7f ff 0c 10 3f", -5625)));
        Assert.IsType<ReadOutcome.Rejected>(Ds18b20Sensor.Parse(File("ce fe 4b 46 7f ff 0c 10 0c", -5062)));
    }

    [Fact]
    public void Every_flipped_bit_and_every_changed_byte_is_refused()
    {
        byte[] whole = [0x73, 0x01, 0x4B, 0x46, 0x7F, 0xFF, 0x0D, 0x10, 0x41];
        for (var i = 0; i < whole.Length; i++)
        {
            for (var flip = 1; flip < 256; flip++)
            {
                var damaged = (byte[])whole.Clone();
                damaged[i] ^= (byte)flip;
                // As if the kernel had not noticed.
                var file = SimulatedDs18b20.File(damaged).Replace("NO", "YES", StringComparison.Ordinal);
                Assert.IsType<ReadOutcome.Rejected>(Ds18b20Sensor.Parse(file));
            }
        }
    }

    [Fact]
    public void Every_changed_letter_of_the_file_is_refused_or_changes_nothing()
    {
        var file = File("73 01 4b 46 7f ff 0d 10 41", 23187);
        for (var i = 0; i < file.Length; i++)
        {
            foreach (var letter in "0f 9:\nx-")
            {
                var damaged = file.Remove(i, 1).Insert(i, letter.ToString(CultureInfo.InvariantCulture));
                if (Ds18b20Sensor.Parse(damaged) is ReadOutcome.Measured { Values.ContactCelsius: { } celsius })
                    Assert.Equal(23.1875, celsius);
            }
        }
    }

    [Fact]
    public void A_larger_word_never_decodes_to_a_lower_temperature()
    {
        var before = double.NegativeInfinity;
        for (var sixteenths = -55 * 16; sixteenths <= 125 * 16; sixteenths++)
        {
            if (sixteenths == 85 * 16)
                continue;
            var celsius = Assert.IsType<ReadOutcome.Measured>(
                Ds18b20Sensor.Parse(SimulatedDs18b20.File(sixteenths / 16.0))).Values.ContactCelsius!.Value;
            Assert.True(celsius > before);
            before = celsius;
        }
    }

    [Fact]
    public void The_real_files_of_a_folder_are_read_and_a_missing_device_is_named()
    {
        using var folder = new TemporaryFolder();
        using var buses = new HardwareBuses(folder["devices"]);
        Directory.CreateDirectory(Path.Combine(folder["devices"], Device));
        Directory.CreateDirectory(Path.Combine(folder["devices"], "w1_bus_master1"));
        System.IO.File.WriteAllText(Path.Combine(folder["devices"], Device, "w1_slave"), File("73 01 4b 46 7f ff 0d 10 41", 23187));
        Assert.Equal([Device], buses.OneWireDevices());
        using var sensor = new Ds18b20Sensor(buses, null);
        Assert.Equal(23.1875, Assert.IsType<ReadOutcome.Measured>(sensor.Read()).Values.ContactCelsius);
        Directory.Delete(Path.Combine(folder["devices"], Device), recursive: true);
        Assert.Throws<DirectoryNotFoundException>(() => sensor.Read());
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(new ProbeOptions { Kind = ProbeKind.Ds18b20, Device = Device, Spot = "plaza" });
        bench.Buses.OneWire(Device, () => SimulatedDs18b20.File(41.5));
        Assert.Equal(41.5, bench.Measured().ContactCelsius);
        bench.Buses.RemoveOneWire(Device);
        bench.Rejected(RejectReason.NoAnswer,
            $"probe 2, DS18B20: 1-wire device {Device} is not there; check that it is plugged in and 1-wire is enabled on the Pi");
        bench.Buses.OneWire(Device, () => SimulatedDs18b20.File(42.5));
        Assert.Equal(42.5, bench.Measured().ContactCelsius);
    }

    [Fact]
    public void Of_several_on_the_bus_one_must_be_named()
    {
        using var bench = new Bench(new ProbeOptions { Kind = ProbeKind.Ds18b20, Spot = "plaza" });
        bench.Buses.OneWire("28-000000000001", () => SimulatedDs18b20.File(41));
        Assert.Equal(41, bench.Measured().ContactCelsius);
        bench.Buses.OneWire("28-000000000002", () => SimulatedDs18b20.File(42));
        bench.Rejected(RejectReason.WrongDevice,
            "probe 2, DS18B20: 2 are on the bus (28-000000000001, 28-000000000002), expected one; name it with Device in its settings");
    }

    /// <summary>The reasons by name, since a test's parameters must be public.</summary>
    public enum RejectReasonName
    {
        NoAnswer,
        CheckByte,
        NotReady,
    }
}
