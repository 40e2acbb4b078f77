namespace PavementWatch.Gateway.Clock;

internal static partial class Log
{
    [LoggerMessage(40, LogLevel.Information, "clock: known from {Source}, {Now:u}; {Dated} held readings dated")]
    public static partial void Known(this ILogger logger, string source, DateTimeOffset now, int dated);

    [LoggerMessage(41, LogLevel.Warning, "clock: it was set to {Now:u}; {Dated} readings not sent yet are dated anew")]
    public static partial void Stepped(this ILogger logger, DateTimeOffset now, int dated);

    [LoggerMessage(42, LogLevel.Warning, "clock: it was set back by {Seconds:F0} s; ours runs at half speed until the two agree, its readings are marked")]
    public static partial void SlowingDown(this ILogger logger, double seconds);

    [LoggerMessage(43, LogLevel.Warning, "clock: not known; readings are held until a time service has set it. Connect the network, fit a DS3231, or set Clock:Trust to System on a machine whose clock is always right")]
    public static partial void Unknown(this ILogger logger);

    [LoggerMessage(44, LogLevel.Warning, "clock: the first look at it failed; it is repeated with the first sample")]
    public static partial void FirstLookFailed(this ILogger logger, Exception error);
}
