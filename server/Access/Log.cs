
namespace PavementWatch.Server.Access;

/// <summary>What this folder says in the log. No names, no tokens.</summary>
internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Warning, Message = "Sessions could not be read, so open live streams were not looked at: {Fault}. Looked at again in two seconds")]
    public static partial void SessionsNotRead(this ILogger logger, string fault);

    [LoggerMessage(Level = LogLevel.Warning, Message = "a {Method} request could not be answered: {Fault}")]
    public static partial void NotAnswered(this ILogger logger, string method, string fault);
}
