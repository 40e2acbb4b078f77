using System.CommandLine;

namespace PavementWatch.Gateway.Sizing;

/// <summary>The verbs for planning a place and for calibrating a probe: <c>size spot</c>, <c>size power</c>, <c>calibrate</c>.</summary>
internal static class SizingCommands
{
    /// <summary>The verbs, for the program's root.</summary>
    /// <param name="open">Lays this gateway's probes on the bench; asked only when <c>calibrate</c> measures now.</param>
    /// <param name="input">Where a person presses Enter.</param>
    public static IReadOnlyList<Command> Create(Func<ParseResult, CalibrationBench> open, TextReader input) =>
        [Size(), CalibrateCommand.Create(open, input)];

    /// <summary>The verbs that touch no hardware.</summary>
    public static Command Size()
    {
        var size = new Command("size", "Plan a place: the spot a sensor sees, the battery and panel a gateway needs.");
        size.Subcommands.Add(SpotCommand.Create());
        size.Subcommands.Add(PowerCommand.Create());
        return size;
    }
}
