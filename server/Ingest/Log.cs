using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: pack refused, {Reason}: {Detail}")]
    public static partial void PackRefused(ILogger logger, GatewayId gateway, string reason, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: kept out, {Reason}: {Refusal}")]
    public static partial void KeptOut(ILogger logger, GatewayId gateway, string reason, string refusal);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Who}: {MoreCount} more in the last minute, {Reason}")]
    public static partial void Repeated(ILogger logger, string who, string reason, long moreCount);

    [LoggerMessage(Level = LogLevel.Error, Message = "gateway {Gateway}: {ReadingCount} readings sent back to try again: {Detail}")]
    public static partial void SentBack(ILogger logger, GatewayId gateway, int readingCount, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "gateway {Gateway}: the damaged store does not take a pack; it is set aside as {Path} and stored at the next start if it can be. Put the last backup in the store's place: restore FROM")]
    public static partial void PackSetAside(ILogger logger, GatewayId gateway, string path);

    [LoggerMessage(Level = LogLevel.Error, Message = "gateway {Gateway}: a pack that the damaged store does not take could not be set aside as {Path} either: {Detail}")]
    public static partial void NotSetAside(ILogger logger, GatewayId gateway, string path, string detail);

    [LoggerMessage(Level = LogLevel.Information, Message = "gateway {Gateway}: the pack set aside at {ReceivedAt} is stored, {StoredCount} readings were new")]
    public static partial void AsideStored(ILogger logger, GatewayId gateway, DateTimeOffset receivedAt, int storedCount);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Path}, a pack that was set aside, still cannot be stored: {Detail}")]
    public static partial void AsideNotStored(ILogger logger, string path, string detail);

    [LoggerMessage(Level = LogLevel.Information, Message = "{Path} was written whole before the server last ended, and waits with the packs that were set aside")]
    public static partial void AsideRecovered(ILogger logger, string path);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Path} was cut off at {Bytes} B when the server last ended, and is removed: it was never acknowledged, so its gateway sends it again")]
    public static partial void AsideCut(ILogger logger, string path, int bytes);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: {MissingCount} packs missing from number {FirstMissing} on; look at its outbox and its log")]
    public static partial void PacksMissing(ILogger logger, GatewayId gateway, long missingCount, long firstMissing);

    [LoggerMessage(Level = LogLevel.Debug, Message = "gateway {Gateway}: stored {StoredCount}, already there {DuplicateCount}, in {Milliseconds} ms")]
    public static partial void Stored(ILogger logger, GatewayId gateway, int storedCount, int duplicateCount, double milliseconds);
}
