using PavementWatch.Server.Notifications.WebPush;

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

    [LoggerMessage(Level = LogLevel.Error, Message = "notification {Notification}: the attempt to send it failed on this server; it is repeated")]
    public static partial void AttemptFailed(this ILogger logger, Guid notification, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "notification {Notification}: the registry did not take how sending it ended ({Detail}); it is written later")]
    public static partial void OutcomeUnwritten(this ILogger logger, Guid notification, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "notifications: the registry takes nothing ({Detail}); what waits is sent all the same")]
    public static partial void NothingSetAside(this ILogger logger, string detail);

    [LoggerMessage(Level = LogLevel.Information, Message = "device {Device} of person {Person} is gone; nothing is sent to it until it subscribes again")]
    public static partial void DeviceGone(this ILogger logger, int device, int person);

    [LoggerMessage(Level = LogLevel.Error, Message = "a look for phones that get no alerts any more failed; the next one tries again")]
    public static partial void GonePhonesNotLookedAt(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "unseen warnings: a look at them failed; it is repeated within seconds")]
    public static partial void UnseenPassFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "warning of {Spot}: {Walkers} walkers, {Devices} devices, and none has shown it; the business hears of it by {Channels} channels")]
    public static partial void WarningUnseen(this ILogger logger, string spot, int walkers, int devices, int channels);

    [LoggerMessage(Level = LogLevel.Warning, Message = "business, by {Channel}, of a warning of {Spot} that nobody was told, without the registry: {Outcome}")]
    public static partial void WarningToldUnwritten(this ILogger logger, string channel, string spot, SendOutcome outcome);

    [LoggerMessage(Level = LogLevel.Information, Message = "business told by {Channel} of {About}")]
    public static partial void BusinessTold(this ILogger logger, string channel, string about);

    [LoggerMessage(Level = LogLevel.Warning, Message = "business not yet told by {Channel} of {About}: {Detail}; next try at {NextAttemptAt:u}")]
    public static partial void NoticeWaits(this ILogger logger, string channel, string about, string detail, DateTimeOffset nextAttemptAt);

    [LoggerMessage(Level = LogLevel.Warning, Message = "business not told by {Channel} of {About}: {Detail}; look at Notifications:Business")]
    public static partial void NoticeRefused(this ILogger logger, string channel, string about, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "business not told by {Channel} of {About}, which is no news any more: {Detail}")]
    public static partial void NoticeExpired(this ILogger logger, string channel, string about, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "business: a round of sending by {Channel} failed; it is repeated within seconds")]
    public static partial void BusinessPassFailed(this ILogger logger, string channel, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "faults: a look at them failed; it is repeated within seconds")]
    public static partial void FaultPassFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "fault {Fault} lasts; the business is told: {Words}")]
    public static partial void FaultLasts(this ILogger logger, string fault, string words);

    [LoggerMessage(Level = LogLevel.Information, Message = "fault {Fault} has ended; the business is told")]
    public static partial void FaultEnded(this ILogger logger, string fault);

    [LoggerMessage(Level = LogLevel.Warning, Message = "faults: the registry takes nothing ({Detail}); they are told without it")]
    public static partial void FaultsUnwritten(this ILogger logger, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "business, by {Channel}, of fault {Fault} without the registry: {Outcome}")]
    public static partial void FaultToldUnwritten(this ILogger logger, string channel, string fault, SendOutcome outcome);

    [LoggerMessage(Level = LogLevel.Warning, Message = "this server's clock leapt ahead by {Span}; warnings that wait to be sent are as much news as they were, all-clears that wait are not sent")]
    public static partial void WaitingMoved(this ILogger logger, TimeSpan span);
}
