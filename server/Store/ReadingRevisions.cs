using System.Collections.Concurrent;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Store;

/// <summary>How often readings of each spot came into the store since the start, whatever they are dated: what was made of them before is old.</summary>
internal sealed class ReadingRevisions
{
    private readonly ConcurrentDictionary<SpotId, long> _revisions = [];

    /// <summary>That of a spot; read it before its readings.</summary>
    public long Of(SpotId spot) => _revisions.GetValueOrDefault(spot);

    /// <summary>Some may be there now that were not.</summary>
    public void MayHave(IEnumerable<StoredReading> readings)
    {
        foreach (var spot in readings.Select(r => r.Reading.Spot).Distinct())
            _revisions.AddOrUpdate(spot, 1, static (_, before) => before + 1);
    }
}
