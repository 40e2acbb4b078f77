namespace PavementWatch.Gateway.Outbox;

internal static partial class Log
{
    [LoggerMessage(1, LogLevel.Error, "outbox {Path}: the file is damaged ({Detail}); set aside as {SetAside}, {Rescued} readings rescued from it; look at the card or disk, it may be failing")]
    public static partial void FileDamaged(this ILogger logger, string path, string detail, string setAside, long rescued);

    [LoggerMessage(11, LogLevel.Warning, "outbox {Path}: the file is not one this program can use ({Detail}); set aside as {SetAside}, {Rescued} readings rescued from it")]
    public static partial void FileOfOtherEdition(this ILogger logger, string path, string detail, string setAside, long rescued);

    [LoggerMessage(2, LogLevel.Error, "outbox {Path}: {Fault}; new readings wait in memory meanwhile")]
    public static partial void DiskTakesNothing(this ILogger logger, string path, string fault);

    [LoggerMessage(3, LogLevel.Information, "outbox {Path}: the disk takes readings again; {Count} that waited in memory are on it")]
    public static partial void DiskBack(this ILogger logger, string path, int count);

    [LoggerMessage(4, LogLevel.Warning, "outbox {Path}: little room left; {Thinned} of the oldest readings went into ten-minute means, {GivenUp} were given up; bring the network back or raise Outbox:MaxMegabytes")]
    public static partial void MadeRoom(this ILogger logger, string path, long thinned, long givenUp);

    [LoggerMessage(5, LogLevel.Warning, "outbox {Path}: {Count} readings of an earlier start were never dated and are given up; a DS3231 clock or a network at start keeps them")]
    public static partial void Undatable(this ILogger logger, string path, int count);

    [LoggerMessage(6, LogLevel.Warning, "outbox {Path}: the server refuses {Count} readings for good ({Reason}); set aside in the table 'refused'")]
    public static partial void Refused(this ILogger logger, string path, int count, string reason);

    [LoggerMessage(10, LogLevel.Warning, "outbox {Path}: the server does not take readings with these dates ({Reason}); they stay here and are sent again every ten minutes; run timedatectl here and on the server, and set the clock that is wrong")]
    public static partial void PutOff(this ILogger logger, string path, string reason);

    [LoggerMessage(12, LogLevel.Warning, "{Open}")]
    public static partial void OpenToOthers(this ILogger logger, string open);

    [LoggerMessage(7, LogLevel.Error, "a round of sampling failed in a way nobody foresaw; the next one follows")]
    public static partial void StepFailed(this ILogger logger, Exception error);

    [LoggerMessage(8, LogLevel.Debug, "{Where}: {Spot} {MeasuredAt:O} ({Boot} {SinceBootMilliseconds} ms) surface {SurfaceCelsius} °C, air {AirCelsius} °C, {HumidityPercent} %, sensor {SensorCelsius} °C, {LightLux} lx, {SupplyVolts} V, {Quality} [{Doubt}]")]
    public static partial void Kept(
        this ILogger logger, string where, string spot, DateTimeOffset measuredAt, string boot, long sinceBootMilliseconds,
        double? surfaceCelsius, double? airCelsius, double? humidityPercent, double? sensorCelsius, double? lightLux, double? supplyVolts,
        Core.Readings.ReadingQuality quality, Core.Readings.Doubt doubt);

    [LoggerMessage(9, LogLevel.Debug, "dated: boot {Boot} began {BootedAt:O}; {Count} readings dated by it")]
    public static partial void Dated(this ILogger logger, string boot, DateTimeOffset bootedAt, int count);
}
