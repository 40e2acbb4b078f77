using MQTTnet;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Broker;

/// <summary>Takes gateways' messages from either broker to where they belong, and says how to answer.</summary>
internal sealed class Inbox(
    IngestPipeline pipeline, GatewayStatusBoard board, GatewayClocks clocks, IngestMetrics metrics, RefusalLog refusals, TimeProvider time, ILogger<Inbox> logger)
{
    /// <summary>Takes a pack of readings; returns after they are durable or cannot be.</summary>
    /// <param name="gateway">Whose.</param>
    /// <param name="message">The pack.</param>
    /// <param name="maxPayloadBytes">Larger ones are not looked at.</param>
    /// <param name="isQueued">Whether a broker in between may have held it, and has acknowledged it to the gateway.</param>
    public async Task<IngestOutcome> ReadingsAsync(GatewayId gateway, MqttApplicationMessage message, int maxPayloadBytes, bool isQueued)
    {
        var now = time.GetUtcNow();
        if (message.Payload.Length > maxPayloadBytes)
            return pipeline.TooLarge(gateway, message.Payload.Length);
        var (origin, fault) = PackOrigin.Read(message.UserProperties, isQueued);
        if (fault is not null)
        {
            metrics.Refused(IngestReason.BadPackNumber);
            if (refusals.IsNews(gateway.Value, IngestReason.BadPackNumber))
                Ingest.Log.KeptOut(logger, gateway, IngestReason.BadPackNumber, fault);
        }

        var outcome = await pipeline.AcceptAsync(gateway, Bytes.Of(message.Payload), origin);
        // A pack with nothing in it comes from the gateway's check; that it is running says one with readings.
        if (outcome is not IngestOutcome.Accepted { StoredCount: 0, DuplicateCount: 0, RefusedCount: 0 })
            board.Seen(gateway, now);
        return outcome;
    }

    /// <summary>Takes a status message; <c>null</c> when it was one.</summary>
    public string? Status(GatewayId gateway, MqttApplicationMessage message, bool isOld)
    {
        var fault = board.Report(gateway, Bytes.Of(message.Payload).Span, time.GetUtcNow(), isOld);
        if (fault is null)
        {
            if (!isOld && board.Find(gateway)?.Report?.At is { } shows)
                clocks.Hear(gateway, shows);
            return null;
        }

        metrics.Refused(IngestReason.MalformedStatus);
        if (refusals.IsNews(gateway.Value, IngestReason.MalformedStatus))
            Log.StatusRefused(logger, gateway, fault);
        return fault;
    }
}
