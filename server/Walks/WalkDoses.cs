using PavementWatch.Core.Places;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Days;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Walks;

/// <summary>What the ground of walks adds up to, by the days of their spots.</summary>
internal sealed class WalkDoses(SpotCatalogue catalogue, ISpotDays days)
{
    /// <summary>The dose of a walk.</summary>
    /// <param name="spots">Its spots in the order they are walked.</param>
    /// <param name="from">When it begins, UTC.</param>
    /// <param name="to">When it ends, UTC.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>The dose; <c>null</c> for a walk without spots or time.</returns>
    public async Task<WalkDose?> OfAsync(IEnumerable<string> spots, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var stops = new List<WalkStop>();
        foreach (var id in spots)
            stops.Add(await StopAsync(SpotId.Parse(id), from, to, cancellationToken));
        return WalkDose.Of(stops, from, to);
    }

    private async Task<WalkStop> StopAsync(SpotId id, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        if (catalogue.Find(id) is not { } spot)
            return new("a spot that was removed", []);
        var zone = TimeZoneInfo.FindSystemTimeZoneById(spot.TimeZoneId);
        var touched = new List<SpotDay>();
        for (var day = LocalDay.Of(zone, from); day <= LocalDay.Of(zone, to); day = day.AddDays(1))
        {
            if (await days.DayAsync(id, day, cancellationToken) is { } made)
                touched.Add(made);
        }

        return new(spot.Name, touched);
    }
}
