using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: pack refused, {Reason}: {Detail}")]
    public static partial void PackRefused(ILogger logger, GatewayId gateway, string reason, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: kept out, {Reason}: {Refusal}")]
    public static partial void KeptOut(ILogger logger, GatewayId gateway, string reason, string refusal);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Who}: {MoreCount} more refused in the last minute, {Reason}")]
    public static partial void Repeated(ILogger logger, string who, string reason, long moreCount);

    [LoggerMessage(Level = LogLevel.Error, Message = "gateway {Gateway}: {ReadingCount} readings sent back to try again: {Detail}")]
    public static partial void SentBack(ILogger logger, GatewayId gateway, int readingCount, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: {MissingCount} packs missing from number {FirstMissing} on; look at its outbox and its log")]
    public static partial void PacksMissing(ILogger logger, GatewayId gateway, long missingCount, long firstMissing);

    [LoggerMessage(Level = LogLevel.Debug, Message = "gateway {Gateway}: stored {StoredCount}, already there {DuplicateCount}, in {Milliseconds} ms")]
    public static partial void Stored(ILogger logger, GatewayId gateway, int storedCount, int duplicateCount, double milliseconds);
}
