namespace PavementWatch.Gateway.Sensors;

/// <summary>What the probes say in the log.</summary>
internal static partial class Log
{
    [LoggerMessage(LogLevel.Warning, "{Detail}")]
    public static partial void ProbeFailed(ILogger logger, string detail);

    [LoggerMessage(LogLevel.Information, "probe {Probe} is back after {Failures} failed samples")]
    public static partial void ProbeIsBack(ILogger logger, string probe, int failures);
}
