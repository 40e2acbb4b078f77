using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Sht4xTests
{
    private const int Address = 0x44;

    private static SimulatedSht4x Chip(double air = 33.4, double humidity = 41.5) => new(() => (air, humidity));

    [Theory]
    //          raw     air        humidity   source
    [InlineData(0x0000, -45.0, 0.0, "SHT4x data sheet, formula; humidity −6 cut to 0")]
    [InlineData(0x6666, 25.0, 44.0, "SHT4x data sheet, formula, computed apart: −6 + 125 · 0.4")]
    [InlineData(0x8000, 42.501335, 56.500954, "SHT4x data sheet, formula, computed apart")]
    [InlineData(0xFFFF, 130.0, 100.0, "SHT4x data sheet, formula; humidity 119 cut to 100")]
    public void Words_decode_as_the_data_sheet_says(int raw, double air, double humidity, string source)
    {
        var chip = Chip();
        chip.Words = ((ushort)raw, (ushort)raw);
        using var bench = new Bench(ProbeKind.Sht4x, Address, chip);
        var values = bench.Decoded(ProbeKind.Sht4x);
        Published.Near(air, values.AirCelsius!.Value, 5e-7, source);
        Published.Near(humidity, values.HumidityPercent!.Value, 5e-7, source);
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_sample_is_refused_or_changes_nothing()
    {
        using var bench = new Bench(ProbeKind.Sht4x, Address, Chip());
        var (tried, refused) = bench.DamageEverything();
        Assert.Equal(9 + 6 * 255, tried);
        Assert.Equal(tried, refused);
    }

    [Fact]
    public void Ours_and_the_binding_agree_on_whole_frames()
    {
        using var bench = new Bench(ProbeKind.Sht4x, Address, Chip());
        using (var binding = new Iot.Device.Sht4x.Sht4x(bench.Bus.CreateDevice(Address)))
        {
            var (humidity, air) = binding.ReadHumidityAndTemperature();
            Published.Near(33.4, air!.Value.DegreesCelsius, 0.002, "the binding");
            Published.Near(41.5, humidity!.Value.Percent, 0.002, "the binding");
        }

        var values = bench.Measured();
        Published.Near(33.4, values.AirCelsius!.Value, 0.002, "by definition: the simulated truth");
        Published.Near(41.5, values.HumidityPercent!.Value, 0.002, "by definition: the simulated truth");
    }

    [Fact]
    public void Unplugging_is_named_and_plugging_in_again_works()
    {
        using var bench = new Bench(ProbeKind.Sht4x, Address, Chip());
        bench.UnplugAndReplug(
            "probe 2, SHT4x: no answer at bus 1, address 0x44; check that it is plugged in, powered, and set to that address");
    }

    [Fact]
    public void Two_sensors_at_one_address_are_refused_unless_they_say_the_same()
    {
        using var bench = new Bench(ProbeKind.Sht4x, Address, Chip());
        bench.Bus.Attach(Address, Chip(21.9, 63.7));
        Assert.Equal(RejectReason.CheckByte, bench.Rejected().Reason);
    }
}
