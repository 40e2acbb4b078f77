namespace PavementWatch.Server.Store;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "start: readings opened in {Milliseconds} ms, {WalBytes} B were still to be merged")]
    public static partial void Opened(this ILogger logger, long milliseconds, long walBytes);
}
