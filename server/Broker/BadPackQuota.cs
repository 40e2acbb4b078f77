using System.Collections.Concurrent;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Broker;

/// <summary>How much a gateway may send that is refused: a bucket that fills by one a second. Over it its connection ends.</summary>
/// <remarks>A gateway in order sends none; one with a wrong setting sends a pack a minute, or a backlog of some hundred at once.</remarks>
internal sealed class BadPackQuota(TimeProvider time)
{
    private const double Most = 300;

    private readonly ConcurrentDictionary<GatewayId, Bucket> _buckets = new();

    /// <summary>Takes one; <c>false</c> when there is none left.</summary>
    public bool Take(GatewayId gateway)
    {
        var now = time.GetTimestamp();
        var bucket = _buckets.GetOrAdd(gateway, _ => new Bucket { Left = Most, At = now });
        lock (bucket)
        {
            bucket.Left = Math.Min(Most, bucket.Left + Math.Max(0, time.GetElapsedTime(bucket.At, now).TotalSeconds));
            bucket.At = now;
            if (bucket.Left < 1)
                return false;
            bucket.Left--;
            return true;
        }
    }

    private sealed class Bucket
    {
        public double Left;
        public long At;
    }
}
