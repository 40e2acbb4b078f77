using System.Collections.Concurrent;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Broker;

/// <summary>How much a gateway may send: buckets that fill with time, one for all it sends, one for its statuses, one for what is refused.</summary>
/// <remarks>
/// What comes faster than it may is answered later and nothing of it is lost; only who goes on sending what is refused is hung up on.
/// A gateway in order sends a pack a minute, and a backlog of weeks as some hundred or, where a clock was wrong, some thousand
/// packs. A status rewrites the file of retained messages, and one comes every ten minutes and at a change. One with a wrong setting
/// sends a pack a minute that is refused, or a backlog of some hundred at once. Readings dated by another clock do not count as
/// refused: they wait at a gateway whose newest reading must get through.
/// </remarks>
internal sealed class GatewayQuota(IOptions<BrokerOptions> options, TimeProvider time)
{
    /// <summary>Messages at once, as a multiple of those a second.</summary>
    public const int SecondsAtOnce = 100;

    /// <summary>Statuses at once; then one a second.</summary>
    public const int StatusesAtOnce = 100;

    /// <summary>Refused messages at once; then one a second.</summary>
    public const int BadAtOnce = 300;

    /// <summary>Longer no message waits for its answer: a gateway's patience is 20 s.</summary>
    public static readonly TimeSpan LongestWait = TimeSpan.FromSeconds(5);

    private readonly ConcurrentDictionary<GatewayId, Buckets> _buckets = new();

    private int PerSecond => options.Value.MaxMessagesPerSecond;

    /// <summary>Takes one message.</summary>
    /// <returns>How long it has to wait; <c>null</c> when so many wait already, on other connections, that it has to come again.</returns>
    public TimeSpan? Take(GatewayId gateway, bool isStatus)
    {
        var (buckets, now) = (Of(gateway), time.GetTimestamp());
        lock (buckets)
        {
            var wait = Wait(buckets.All, PerSecond, now);
            if (isStatus)
                wait = Math.Max(wait, Wait(buckets.Statuses, 1, now));
            if (wait > LongestWait.TotalSeconds)
                return null;
            buckets.All.Left--;
            if (isStatus)
                buckets.Statuses.Left--;
            return TimeSpan.FromSeconds(Math.Ceiling(wait * 1000) / 1000);
        }
    }

    /// <summary>Takes one that is refused; <c>false</c> when its connection is to end.</summary>
    public bool TakeBad(GatewayId gateway)
    {
        var (buckets, now) = (Of(gateway), time.GetTimestamp());
        lock (buckets)
        {
            if (Wait(buckets.Bad, 1, now) > 0)
                return false;
            buckets.Bad.Left--;
            return true;
        }
    }

    private Buckets Of(GatewayId gateway) => _buckets.GetOrAdd(
        gateway, _ => new Buckets(new Bucket(PerSecond * SecondsAtOnce), new Bucket(StatusesAtOnce), new Bucket(BadAtOnce)));

    /// <summary>Fills a bucket up to now.</summary>
    /// <returns>[s] Until it holds one.</returns>
    private double Wait(Bucket bucket, double perSecond, long now)
    {
        if (bucket.At is { } before)
            bucket.Left = Math.Min(bucket.Most, bucket.Left + (perSecond * Math.Max(0, time.GetElapsedTime(before, now).TotalSeconds)));
        bucket.At = now;
        return Math.Max(0, (1 - bucket.Left) / perSecond);
    }

    private sealed record Buckets(Bucket All, Bucket Statuses, Bucket Bad);

    private sealed class Bucket(double most)
    {
        public double Most { get; } = most;

        /// <summary>Less than nothing while some wait.</summary>
        public double Left { get; set; } = most;

        public long? At { get; set; }
    }
}
