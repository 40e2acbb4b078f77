namespace PavementWatch.Gateway.Publishing;

internal static partial class Log
{
    [LoggerMessage(20, LogLevel.Information, "connected to {Host}:{Port} as {Gateway}; {Waiting} readings wait")]
    public static partial void Connected(this ILogger logger, string host, int port, string gateway, long waiting);

    [LoggerMessage(21, LogLevel.Warning, "no connection: {Fault}. Readings wait in the outbox; next attempt in {PauseSeconds:F1} s")]
    public static partial void NotConnected(this ILogger logger, string fault, double pauseSeconds);

    [LoggerMessage(22, LogLevel.Warning, "the server takes no readings now ({Reason}); they wait in the outbox; next attempt in {PauseSeconds:F1} s")]
    public static partial void NotNow(this ILogger logger, string reason, double pauseSeconds);

    [LoggerMessage(23, LogLevel.Debug, "pack {Boot}/{Sequence}: {Count} readings acknowledged")]
    public static partial void Acknowledged(this ILogger logger, string boot, long sequence, int count);

    [LoggerMessage(24, LogLevel.Error, "publishing failed in a way nobody foresaw; it goes on")]
    public static partial void Unforeseen(this ILogger logger, Exception error);
}
