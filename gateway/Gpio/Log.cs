namespace PavementWatch.Gateway.Gpio;

/// <summary>What the panel says in the log.</summary>
internal static partial class Log
{
    [LoggerMessage(LogLevel.Information, "{Result}")]
    public static partial void SelfChecked(ILogger logger, string result);

    [LoggerMessage(LogLevel.Error, "lamp and button do not work: {Reason}; check the pins under Panel, and add the service's user to the group gpio")]
    public static partial void NoPins(ILogger logger, string reason);
}
