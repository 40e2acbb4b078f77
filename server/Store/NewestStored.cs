using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>What the newest stored reading says of this server's clock.</summary>
internal static class NewestStored
{
    private static readonly TimeSpan FurthestAhead = TimeSpan.FromDays(3650);

    /// <summary>How far the newest reading of a spot lies ahead of now: the clock was set back since it came, by so much at least.</summary>
    /// <param name="store">The store.</param>
    /// <param name="spot">The spot.</param>
    /// <param name="now">UTC.</param>
    /// <param name="cancellationToken">Gives up.</param>
    /// <returns>Zero where it does not.</returns>
    public static async Task<TimeSpan> AheadAsync(this IReadingStore store, SpotId spot, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (await store.LatestAsync(spot, now + FurthestAhead, cancellationToken) is not { } newest)
            return TimeSpan.Zero;
        // No reading was measured later than it came; one that a gateway dated ahead says nothing of this clock.
        var at = newest.Reading.MeasuredAt < newest.ReceivedAt ? newest.Reading.MeasuredAt : newest.ReceivedAt;
        return at > now ? at - now : TimeSpan.Zero;
    }
}
