using PavementWatch.Core.Readings;

namespace PavementWatch.Dashboards.Spots;

/// <summary>All spots as they are now, and every change.</summary>
public interface ISpotBoard
{
    /// <summary>Every spot, in the business's order.</summary>
    IReadOnlyList<SpotNow> All();

    /// <summary>One spot, or <c>null</c>.</summary>
    SpotNow? Find(SpotId id);

    /// <summary>Each change from now on, newest state only: a slow reader misses intermediate ones, never the last.</summary>
    IAsyncEnumerable<SpotNow> ChangesAsync(CancellationToken cancellationToken);
}
