using PavementWatch.Core.Plausibility;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Plausibility;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "{Spot}: {SurfaceCelsius} °C is doubted, {Doubt}; expected without its sensor {ExpectedCelsius} °C")]
    public static partial void Doubted(this ILogger logger, string spot, double? surfaceCelsius, Doubt doubt, double? expectedCelsius);

    [LoggerMessage(Level = LogLevel.Information, Message = "{Spot}: {SurfaceCelsius} °C is believed again, {Explanation}")]
    public static partial void Believed(this ILogger logger, string spot, double? surfaceCelsius, Explanation explanation);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Spot}: what was measured before the start cannot be read; its first readings are judged without: {Detail}")]
    public static partial void WithoutHistory(this ILogger logger, string spot, string detail);
}
