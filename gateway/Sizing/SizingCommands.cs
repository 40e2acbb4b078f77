using System.CommandLine;

namespace PavementWatch.Gateway.Sizing;

/// <summary>The verbs for planning a place: <c>size spot</c>, <c>size power</c>. They touch no hardware.</summary>
internal static class SizingCommands
{
    /// <summary>The verbs, for the program's root.</summary>
    public static Command Create()
    {
        var size = new Command("size", "Plan a place: the spot a sensor sees, the battery and panel a gateway needs.");
        size.Subcommands.Add(SpotCommand.Create());
        size.Subcommands.Add(PowerCommand.Create());
        return size;
    }
}
