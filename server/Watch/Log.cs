using PavementWatch.Core.Alerts;

namespace PavementWatch.Server.Watch;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "{Spot}: {From} -> {To}, {Because} at {SurfaceCelsius} °C; {Told} devices to tell")]
    public static partial void Changed(
        this ILogger logger, string spot, AlertState from, AlertState to, AlertReason because, double? surfaceCelsius, int told);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch of {Spot} begins without its last days, which the store does not give: {Detail}")]
    public static partial void WithoutHistory(this ILogger logger, string spot, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "the registry does not take a change of {Spot}; it is kept in memory and told from there: {Detail}")]
    public static partial void ChangeUnwritten(this ILogger logger, string spot, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "a change of {Spot}, told from memory, cannot be written; it will be missing in its history")]
    public static partial void ChangeUnwritable(this ILogger logger, string spot, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Spot}: told {Told} of {Devices} devices from memory, as the registry takes nothing")]
    public static partial void ToldUnwritten(this ILogger logger, string spot, int told, int devices);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Spot}: devices could not be told from memory; the next minute tries again")]
    public static partial void NotToldUnwritten(this ILogger logger, string spot, Exception exception);

    [LoggerMessage(Level = LogLevel.Information, Message = "{Count} changes that the registry did not take are written")]
    public static partial void UnwrittenWritten(this ILogger logger, int count);

    [LoggerMessage(Level = LogLevel.Information, Message = "start: watch began in {Milliseconds} ms, {Spots} spots")]
    public static partial void Began(this ILogger logger, long milliseconds, int spots);

    [LoggerMessage(Level = LogLevel.Warning, Message = "watch: this server's clock leapt by {Span}; what was measured before is taken to be as old as it was")]
    public static partial void ClockLeapt(this ILogger logger, TimeSpan span);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch: a step failed; the next reading or minute tries again")]
    public static partial void StepFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch of {Spot}: {Failures} steps in a row failed; the next reading or minute tries again, and the other spots go on")]
    public static partial void SpotFailed(this ILogger logger, string spot, int failures, Exception exception);

    [LoggerMessage(Level = LogLevel.Warning, Message = "the registry has not answered for {Longest}, asked to take a change of {Spot}; it is kept in memory and told from there")]
    public static partial void RegistryHangs(this ILogger logger, string spot, TimeSpan longest);

    [LoggerMessage(Level = LogLevel.Error, Message = "no look at all spots has ended since {Since:u}; those not looked at are shown as unknown")]
    public static partial void NobodyLooks(this ILogger logger, DateTimeOffset since);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Part} could not be brought up to date; the spots known go on being watched")]
    public static partial void PartFailed(this ILogger logger, string part, Exception exception);
}
