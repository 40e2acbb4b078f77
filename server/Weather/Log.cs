namespace PavementWatch.Server.Weather;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "weather from {Source}: {Receipt}")]
    public static partial void ForecastTaken(this ILogger logger, string source, string receipt);

    [LoggerMessage(Level = LogLevel.Warning, Message = "weather from {Source} was not taken, what is there stays: {Fault}")]
    public static partial void ForecastRefused(this ILogger logger, string source, string fault);

    [LoggerMessage(Level = LogLevel.Information, Message = "weather: {Count} rows that are kept no longer were removed")]
    public static partial void Pruned(this ILogger logger, int count);

    [LoggerMessage(Level = LogLevel.Error, Message = "weather: a look for sun that is not measured failed; the next one tries again")]
    public static partial void SunNotLookedAt(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "weather: a look for forecasts failed; the next one tries again")]
    public static partial void LookFailed(this ILogger logger, Exception exception);
}
