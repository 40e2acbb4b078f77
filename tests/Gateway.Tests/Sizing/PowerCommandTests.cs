using PavementWatch.Gateway.Sizing;

namespace PavementWatch.Gateway.Tests.Sizing;

public sealed class PowerCommandTests
{
    [Fact]
    public void Every_step_of_the_sum_is_printed()
    {
        var run = Run("--battery-wh", "240", "--load-w", "3", "--battery", "lithium", "--panel-w", "50", "--sun-hours", "3");
        Assert.Equal(0, run.ExitCode);
        // Worked by hand; see PowerSizingTests of core.
        Assert.Equal(
            """
            load           3 W x 24 h = 72 Wh a day
            battery        240 Wh x 0.80 usable x 0.80 at 0 °C = 154 Wh
            without sun    154 Wh / 72 Wh a day = 2.1 days
            ! Less than the 3 days wanted: take a battery of 340 Wh or more.
            panel          50 W x 3.0 h x (1 - 0.30 lost) = 105 Wh a day
            to refill      154 Wh / (105 - 72) Wh a day = 4.7 days
            panel needed   (72 + 154 / 3) Wh / (3.0 h x 0.70) = 59 W, to be full again in 3 days
            ! The panel of 50 W is smaller than that.

            """, run.Output, ignoreLineEndingDifferences: true);
    }

    [Fact]
    public void A_battery_that_runs_empty_is_said_so() =>
        Assert.Contains("! The panel brings 63 Wh a day and the load takes 72 Wh: the battery runs empty.",
            Run("--battery-wh", "240", "--load-w", "3", "--panel-w", "30", "--sun-hours", "3").Output, StringComparison.Ordinal);

    [Fact]
    public void Lithium_in_frost_is_warned_of() =>
        Assert.Contains("must not be charged below 0 °C",
            Run("--battery-wh", "240", "--load-w", "3", "--battery", "lithium", "--celsius", "-10").Output, StringComparison.Ordinal);

    [Theory]
    [InlineData("--battery-wh is 0, expected over 0 to 100000", "--battery-wh", "0", "--load-w", "3")]
    [InlineData("--load-w is 1001, expected over 0 to 1000", "--battery-wh", "240", "--load-w", "1001")]
    [InlineData("--celsius is -30, expected -20 to 50", "--battery-wh", "240", "--load-w", "3", "--celsius", "-30")]
    [InlineData("--losses is 1, expected 0 to 0.9", "--battery-wh", "240", "--load-w", "3", "--losses", "1")]
    [InlineData("--panel-w needs --sun-hours", "--battery-wh", "240", "--load-w", "3", "--panel-w", "50")]
    [InlineData("'--load-w' is required", "--battery-wh", "240")]
    [InlineData("'nickel' not recognized", "--battery-wh", "240", "--load-w", "3", "--battery", "nickel")]
    public void Bad_usage_is_named(string message, params string[] arguments)
    {
        var run = Run(arguments);
        Assert.Equal(2, run.ExitCode);
        Assert.Contains(message, run.Error, StringComparison.Ordinal);
    }

    private static CommandRun Run(params string[] arguments) =>
        CommandRun.Of(SizingCommands.Size(), ["size", "power", .. arguments]);
}
