namespace PavementWatch.Gateway.Gpio;

/// <summary>What the panel says in the log.</summary>
internal static partial class Log
{
    [LoggerMessage(LogLevel.Information, "{Result}")]
    public static partial void SelfChecked(ILogger logger, string result);

    [LoggerMessage(LogLevel.Error, "{Fault}; they are tried again, once a minute at the rarest")]
    public static partial void NoPins(ILogger logger, string fault);

    [LoggerMessage(LogLevel.Information, "lamp and button work again")]
    public static partial void PinsBack(ILogger logger);
}
