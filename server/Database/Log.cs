namespace PavementWatch.Server.Database;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "start: registry ready in {Milliseconds} ms")]
    public static partial void Ready(this ILogger logger, long milliseconds);

    [LoggerMessage(Level = LogLevel.Information, Message = "the registry's tables are brought up to date; a copy from before is {Copy}")]
    public static partial void CopiedBefore(this ILogger logger, string copy);
}
