
namespace PavementWatch.Server.Fitting;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "fit {Fit} of {Spot} on {Samples} steps: {Standing}, {Reason}")]
    public static partial void Fitted(
        this ILogger logger, string fit, string spot, int samples, FitStanding standing, string reason);

    [LoggerMessage(Level = LogLevel.Warning, Message = "fit {Fit} is retired: {Reason}")]
    public static partial void Retired(this ILogger logger, string fit, string reason);

    [LoggerMessage(Level = LogLevel.Warning, Message = "fit {Fit} cannot be read, and the registry does not take that it is retired: {Detail}")]
    public static partial void NotRetired(this ILogger logger, string fit, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "nightly fit failed; the fits in use stay, and it is tried again within a minute")]
    public static partial void NightFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "a backtest of an uploaded file failed; the others go on")]
    public static partial void BacktestFailed(this ILogger logger, Exception exception);
}
