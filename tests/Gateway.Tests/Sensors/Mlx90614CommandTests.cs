using PavementWatch.Gateway.Sensors.Mlx90614;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Tests.Sizing;

namespace PavementWatch.Gateway.Tests.Sensors;

public sealed class Mlx90614CommandTests
{
    private readonly SimulatedMlx90614 _chip = new(0x5A, () => (40, 25.01));

    private CommandRun Run(params string[] arguments) => CommandRun.Of(
        Mlx90614Command.Create(_ =>
        {
            var buses = new SimulatedBuses();
            buses.Simulated(1).Attach(0x5A, _chip);
            buses.Simulated(1).Attach(0x5C, new SimulatedMlx90614(0x5C, () => (40, 25)));
            return buses;
        }),
        ["mlx90614", .. arguments]);

    [Fact]
    public void Without_options_it_only_looks()
    {
        var run = Run();
        Assert.Equal((0, "MLX90614 at 0x5A: emissivity 1.000, address cell 0xBE5A, own temperature 25.01 °C\n"), (run.ExitCode, run.Output.ReplaceLineEndings("\n")));
    }

    [Fact]
    public void A_new_address_and_emissivity_are_written_and_there_after_switching_off_and_on()
    {
        var run = Run("--new-address", "0x5B", "--reset-emissivity");
        Assert.Equal(0, run.ExitCode);
        Assert.Contains("address 0x5B written and read back; switch the sensor off and on, then set Address to 0x5B", run.Output, StringComparison.Ordinal);
        Assert.Contains("address cell 0x005B", Run().Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("0x5C", "MLX90614 at 0x5A: something answers at 0x5C already; unplug it or choose another address", 1)]
    [InlineData("0x80", "--new-address is '0x80', expected 0x08 to 0x77", 2)]
    [InlineData("five", "--new-address is 'five', expected 0x08 to 0x77", 2)]
    public void An_address_that_cannot_be_is_refused(string address, string message, int exitCode)
    {
        var run = Run("--new-address", address);
        Assert.Contains(message, run.Error, StringComparison.Ordinal);
        Assert.Equal(exitCode, run.ExitCode);
    }

    [Fact]
    public void A_sensor_that_is_not_there_is_named()
    {
        var run = Run("--address", "0x60");
        Assert.Equal(1, run.ExitCode);
        Assert.StartsWith("no MLX90614 answers at bus 1, address 0x60", run.Error, StringComparison.Ordinal);
    }
}
