using PavementWatch.Gateway.Sizing;

namespace PavementWatch.Gateway.Tests.Sizing;

public sealed class CalibrateCommandTests
{
    [Fact]
    public void Numbers_noted_before_become_settings()
    {
        var run = Run("--probe", "plaza-ir", "--reference", "0.1", "61.5606", "--measured", "0.9", "58.8", "--surroundings", "25");
        Assert.Equal((0, ""), (run.ExitCode, run.Error));
        // Check values 3.1: a true 61.5606 °C of emissivity 0.95 in 25 °C reads 60 °C. Gain (60 − 0.1)/(58.8 − 0.9) = 1.0345,
        // offset 0.1 − 1.0345 · 0.9 = −0.83.
        Assert.Contains("cold  thermometer 0.10 °C, target of emissivity 1.00: the sensor should say 0.10 °C and says 0.90 °C\n", run.Output, StringComparison.Ordinal);
        Assert.Contains("warm  thermometer 61.56 °C, target of emissivity 0.95: the sensor should say 60.00 °C and says 58.80 °C\n", run.Output, StringComparison.Ordinal);
        Assert.Contains("""{ "Probes": { "plaza-ir": { "CalibrationGain": 1.0345, "CalibrationOffsetKelvin": -0.83 } } }""", run.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_sensor_already_right_is_said_so() =>
        Assert.Contains("already as right as this comparison can tell",
            Run("--reference", "0", "61.5606", "--measured", "0.1", "59.9", "--surroundings", "25").Output, StringComparison.Ordinal);

    [Theory]
    [InlineData(1, "use an ice bath and a plate near 50 °C", "--reference", "20", "30", "--measured", "20", "30")]
    [InlineData(1, "more crushed ice", "--reference", "1.5", "55", "--measured", "1.5", "53")]
    [InlineData(1, "is the target twice as wide as its spot", "--reference", "0", "60", "--measured", "0", "40")]
    [InlineData(2, "reference is 120 °C, expected -10 to 85 °C", "--reference", "0", "120", "--measured", "0", "110")]
    [InlineData(2, "emissivity is 0.5, expected 0.8 to 1", "--reference", "0", "60", "--measured", "0", "58", "--emissivity", "1", "0.5")]
    [InlineData(2, "--reference and --measured go together", "--reference", "0", "60")]
    [InlineData(2, "give --probe and --thermometer", "--probe", "plaza-ir")]
    [InlineData(2, "--minutes is 31, expected 1 to 30", "--thermometer", "plate", "--minutes", "31")]
    [InlineData(2, "--reference", "--reference", "0", "--measured", "0", "60")]
    public void What_cannot_be_calibrated_is_refused(int code, string message, params string[] arguments)
    {
        var run = Run(arguments);
        Assert.Equal("", run.Output.Contains("CalibrationGain", StringComparison.Ordinal) ? run.Output : "");
        Assert.Contains(message, run.Error, StringComparison.Ordinal);
        Assert.Equal(code, run.ExitCode);
    }

    private static CommandRun Run(params string[] arguments) => CommandRun.Of(
        CalibrateCommand.Create(_ => throw new InvalidOperationException("numbers need no bench"), TextReader.Null),
        ["calibrate", .. arguments]);
}
