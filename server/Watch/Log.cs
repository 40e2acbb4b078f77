using PavementWatch.Core.Alerts;

namespace PavementWatch.Server.Watch;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "{Spot}: {From} -> {To}, {Because} at {SurfaceCelsius} °C; {Told} devices to tell")]
    public static partial void Changed(
        this ILogger logger, string spot, AlertState from, AlertState to, AlertReason because, double? surfaceCelsius, int told);

    [LoggerMessage(Level = LogLevel.Error, Message = "watch: a step failed; the next reading or minute tries again")]
    public static partial void StepFailed(this ILogger logger, Exception exception);
}
