using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors.Ds3231;
using PavementWatch.Gateway.Simulation;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Ds3231Tests : IDisposable
{
    private static readonly DateTimeOffset Noon = new(2025, 7, 14, 18, 0, 7, TimeSpan.Zero);
    private readonly FakeTimeProvider _time = new(Noon);
    private readonly SimulatedI2cBus _bus = new(1);
    private readonly SimulatedDs3231 _chip;
    private readonly Ds3231Clock _clock;

    public Ds3231Tests()
    {
        _chip = new SimulatedDs3231(_time);
        _bus.Attach(Ds3231Clock.FactoryAddress, _chip);
        _clock = new Ds3231Clock(_bus.CreateDevice(Ds3231Clock.FactoryAddress));
    }

    public void Dispose()
    {
        _clock.Dispose();
        _bus.Dispose();
    }

    private string Unknown() => Assert.IsType<ClockOutcome.Unknown>(_clock.Read()).Detail;

    private DateTimeOffset Known() => Assert.IsType<ClockOutcome.Known>(_clock.Read()).Utc;

    [Fact]
    public void A_clock_that_was_never_set_is_not_believed_and_runs_once_set()
    {
        Assert.Equal(
            "clock, DS3231: it stopped since it was set; replace its battery, the gateway sets it once it knows the time",
            Unknown());
        _clock.Set(Noon);
        Assert.Equal(Noon, Known());
        _time.Advance(TimeSpan.FromDays(300) + TimeSpan.FromSeconds(5));
        Assert.Equal(Noon + TimeSpan.FromDays(300) + TimeSpan.FromSeconds(5), Known());
    }

    [Theory]
    [InlineData("2000-02-29T23:59:59Z")]
    [InlineData("2028-02-29T00:00:00Z")]
    [InlineData("2099-12-31T23:59:59Z")]
    public void Every_moment_of_the_century_comes_back_equal(string moment)
    {
        var at = DateTimeOffset.Parse(moment, System.Globalization.CultureInfo.InvariantCulture);
        _clock.Set(at);
        Assert.Equal(at, Known());
    }

    [Fact]
    public void A_clock_set_by_linux_is_in_this_century_though_the_binding_says_1925()
    {
        _clock.Set(Noon);
        _chip.CenturyBit = false;
        Assert.Equal(Noon, Known());
        _bus.RemoveDevice(Ds3231Clock.FactoryAddress);
        using var binding = new Iot.Device.Rtc.Ds3231(_bus.CreateDevice(Ds3231Clock.FactoryAddress));
        Assert.Equal(1925, binding.RtcDateTime.Year);
    }

    [Theory]
    [InlineData("00 00 12 02 30 02 25", "a date that does not exist; the gateway sets it once it knows the time")]
    [InlineData("7A 00 12 02 14 07 25", "register 0x00 is 0x7A, expected 0 to 59 in decimal digits; the gateway sets it once it knows the time")]
    [InlineData("00 60 12 02 14 07 25", "register 0x01 is 0x60, expected 0 to 59 in decimal digits; the gateway sets it once it knows the time")]
    [InlineData("00 00 24 02 14 07 25", "register 0x02 is 0x24, expected 0 to 23 in decimal digits; the gateway sets it once it knows the time")]
    [InlineData("00 00 72 02 14 07 25", "it counts to twelve, expected 24 hours; the gateway sets it once it knows the time")]
    [InlineData("00 00 12 02 00 07 25", "register 0x04 is 0x00, expected 1 to 31 in decimal digits; the gateway sets it once it knows the time")]
    [InlineData("00 00 12 02 14 13 25", "register 0x05 is 0x13, expected 1 to 12 in decimal digits; the gateway sets it once it knows the time")]
    [InlineData("00 00 12 02 14 07 FF", "register 0x06 is 0xFF, expected 0 to 99 in decimal digits; the gateway sets it once it knows the time")]
    public void Registers_that_are_no_time_are_not_believed(string registers, string detail)
    {
        _clock.Set(Noon);
        _chip.Time = [.. registers.Split(' ').Select(r => Convert.ToByte(r, 16))];
        Assert.Equal($"clock, DS3231: {detail}", Unknown());
    }

    [Fact]
    public void Every_damage_to_a_byte_of_a_read_changes_nothing()
    {
        _clock.Set(Noon);
        for (var transfer = 0; transfer < 12; transfer++)
        {
            for (var index = 0; index < 7; index++)
            {
                for (var flip = 1; flip < 256; flip++)
                {
                    var seen = 0;
                    _bus.Fault = (_, _, bytes) =>
                    {
                        if (seen++ == transfer && index < bytes.Length)
                            bytes[index] ^= (byte)flip;
                    };
                    if (_clock.Read() is ClockOutcome.Known known)
                        Assert.Equal(Noon, known.Utc);
                    _bus.Fault = null;
                    Assert.Equal(Noon, Known());
                }
            }
        }
    }

    [Fact]
    public void An_empty_battery_and_an_unplugged_chip_are_named()
    {
        _clock.Set(Noon);
        var chip = Assert.Single(_bus.Detach(Ds3231Clock.FactoryAddress));
        Assert.StartsWith("clock, DS3231: no answer; check that it is plugged in", Unknown(), StringComparison.Ordinal);
        _bus.Attach(Ds3231Clock.FactoryAddress, chip);
        Assert.StartsWith("clock, DS3231: it stopped since it was set", Unknown(), StringComparison.Ordinal);
    }

    [Fact]
    public void The_gateways_clock_gets_the_chips_time_only_where_one_is_fitted()
    {
        using var buses = new SimulatedBuses();
        buses.Simulated(1).Attach(Ds3231Clock.FactoryAddress, _chip);
        using var fitted = Chip(new ClockChipOptions { Ds3231 = true }, buses);
        Assert.Null(fitted.Read());
        fitted.Set(Noon);
        Assert.Equal(Noon, fitted.Read());
        using var none = Chip(new ClockChipOptions(), buses);
        none.Set(Noon);
        Assert.Null(none.Read());
        using var elsewhere = Chip(new ClockChipOptions { Ds3231 = true, Bus = 3 }, buses);
        elsewhere.Set(Noon);
        Assert.Null(elsewhere.Read());
    }

    private static ClockChip Chip(ClockChipOptions options, IBuses buses) =>
        new(Options.Create(options), buses, NullLogger<ClockChip>.Instance);
}
