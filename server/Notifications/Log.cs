namespace PavementWatch.Server.Notifications;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Error, Message = "notifications: a round of sending failed; it is repeated within a minute")]
    public static partial void PassFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "notification {Notification} of {Spot}: {Detail}; next try at {NextAttemptAt:u}")]
    public static partial void WillTryAgain(
        this ILogger logger, Guid notification, string spot, string detail, DateTimeOffset nextAttemptAt);

    [LoggerMessage(Level = LogLevel.Warning, Message = "notification {Notification} of {Spot} not sent: {Detail}")]
    public static partial void NotSent(this ILogger logger, Guid notification, string spot, string detail);

    [LoggerMessage(Level = LogLevel.Information, Message = "device {Device} of person {Person} is gone and was forgotten")]
    public static partial void DeviceForgotten(this ILogger logger, int device, int person);
}
