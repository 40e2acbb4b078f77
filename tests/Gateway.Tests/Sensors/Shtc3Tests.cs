using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Shtc3;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Shtc3Tests
{
    private const int Address = 0x70;

    private static SimulatedShtc3 Chip(double air = 44.4, double humidity = 21.5) => new(() => (air, humidity));

    [Theory]
    //          raw     air          source
    [InlineData(0x0000, -45.0, "SHTC3 data sheet formula: end")]
    [InlineData(0x7FFF, 42.497330, "SHTC3 data sheet formula, computed apart")]
    [InlineData(0x8000, 42.5, "SHTC3 data sheet formula: half of 175 less 45")]
    [InlineData(0x9999, 59.998398, "SHTC3 data sheet formula, computed apart")]
    [InlineData(0xFFFF, 129.997330, "SHTC3 data sheet formula, computed apart")]
    public void Words_decode_as_the_data_sheet_says_above_42_degrees_too(int raw, double air, string source)
    {
        var chip = Chip();
        chip.Words = ((ushort)raw, 0x4000);
        using var bench = new Bench(ProbeKind.Shtc3, Address, chip);
        var values = bench.Decoded(ProbeKind.Shtc3);
        Published.Near(air, values.AirCelsius!.Value, 1e-6, source);
        Published.Near(25, values.HumidityPercent!.Value, 1e-9, "by definition: a quarter");
    }

    [Fact]
    public void The_binding_gives_frost_for_the_bytes_of_a_hot_afternoon()
    {
        // Why it is not used; should a newer binding mend it, this test says so.
        var chip = Chip();
        chip.Words = (0x8000, 0x4000);
        using var bench = new Bench(ProbeKind.Shtc3, Address, chip);
        using var binding = new Iot.Device.Shtc3.Shtc3(bench.Bus.CreateDevice(Address));
        Assert.True(binding.TryGetTemperatureAndHumidity(out var air, out _));
        Assert.True(air.DegreesCelsius < -100, $"{air.DegreesCelsius} °C from 0x8000, which is 42.5 °C");
    }

    [Fact]
    public void A_larger_word_never_decodes_to_a_lower_temperature()
    {
        for (var raw = 1; raw <= 0xFFFF; raw++)
            Assert.True(Shtc3Sensor.AirCelsius((ushort)raw) > Shtc3Sensor.AirCelsius((ushort)(raw - 1)));
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        using var bench = new Bench(ProbeKind.Shtc3, Address, Chip());
        var (tried, _) = bench.DamageEverything();
        // Three commands of two bytes and an answer of six.
        Assert.Equal(6 * 9 + 6 * 255, tried);
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(ProbeKind.Shtc3, Address, Chip());
        bench.UnplugAndReplug(
            "probe 2, SHTC3: no answer at bus 1, address 0x70; check that it is plugged in, powered, and set to that address");
    }
}
