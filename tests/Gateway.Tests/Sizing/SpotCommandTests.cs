using PavementWatch.Gateway.Sizing;

namespace PavementWatch.Gateway.Tests.Sizing;

public sealed class SpotCommandTests
{
    [Fact]
    public void Spot_size_place_and_advice_are_printed()
    {
        var run = Run("--height", "2.5", "--fov", "12", "--tilt", "15");
        Assert.Equal(0, run.ExitCode);
        // Worked by hand: 2.5 · tan 9° = 0.396, 2.5 · tan 21° = 0.960; width 0.564 · √(1 − (sin 15°/cos 6°)²) = 0.544.
        Assert.Equal(
            """
            height 2.50 m, field of view 12°, tilt 15° from straight down
            spot   0.56 m long, 0.54 m wide
            place  from 0.40 m to 0.96 m out from the point below the sensor, middle at 0.68 m
              The nearest point seen is 0.40 m from the point below the sensor, clear of the pole.
              Choose a patch of 1.13 m across, twice the spot: one surface, dry, no line, cover or joint, the same light all over.

            """, run.Output, ignoreLineEndingDifferences: true);
    }

    [Fact]
    public void Without_options_a_table_is_printed()
    {
        var run = Run();
        Assert.Equal(0, run.ExitCode);
        // Check values 3.3: 0.0437, 0.0875, 0.1051, 0.3153 and 1.0000 m at 0.5 m.
        Assert.Contains("| 0.5 m  | 0.04 m | 0.09 m | 0.11 m | 0.32 m | 1.00 m |\n", run.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--height is 0, expected 0.05 to 20", "--height", "0", "--fov", "12")]
    [InlineData("--fov is 130, expected 1 to 120", "--height", "2", "--fov", "130")]
    [InlineData("--tilt is 80, expected 0 to 79", "--height", "2", "--fov", "12", "--tilt", "80")]
    [InlineData("--height and --fov go together", "--height", "2")]
    [InlineData("'two'", "--height", "two", "--fov", "12")]
    public void Bad_usage_is_named(string message, params string[] arguments)
    {
        var run = Run(arguments);
        Assert.Equal(2, run.ExitCode);
        Assert.Contains(message, run.Error, StringComparison.Ordinal);
    }

    private static CommandRun Run(params string[] arguments) =>
        CommandRun.Of(SizingCommands.Size(), ["size", "spot", .. arguments]);
}
