using PavementWatch.Core.Alerts;

namespace PavementWatch.Server.Watch;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "{Spot}: {From} -> {To}, {Because} at {SurfaceCelsius} °C; {Told} devices to tell")]
    public static partial void Changed(
        this ILogger logger, string spot, AlertState from, AlertState to, AlertReason because, double? surfaceCelsius, int told);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch: a step failed; the next reading or minute tries again")]
    public static partial void StepFailed(this ILogger logger, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch of {Spot}: {Failures} steps in a row failed; the next reading or minute tries again, and the other spots go on")]
    public static partial void SpotFailed(this ILogger logger, string spot, int failures, Exception exception);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Part} could not be brought up to date; the spots known go on being watched")]
    public static partial void PartFailed(this ILogger logger, string part, Exception exception);
}
