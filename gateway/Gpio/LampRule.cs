using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Gpio;

/// <summary>What the lamp says of the gateway's own readings, and where these are missing or the server doubts them of its estimate; it needs no network.</summary>
internal static class LampRule
{
    /// <summary>How long after its last good reading a spot may still be as hot as it was. Common practice, no source.</summary>
    public static readonly TimeSpan StaysHot = TimeSpan.FromHours(2);

    /// <summary>[K] How far under the limit the last good reading still counts as hot, once the spot is silent.</summary>
    public const double NearLimitKelvin = 2;

    private const int SilentIntervals = 3;

    /// <summary>The most urgent of all spots.</summary>
    /// <param name="spots">The spots and their limits.</param>
    /// <param name="latest">Their readings.</param>
    /// <param name="estimates">The server's word for spots that are silent, or measured and not believed. It can warn; it never makes a spot comfortable.</param>
    /// <param name="now">The calendar, to tell whether an estimate is fresh.</param>
    /// <param name="interval">How often a reading should come.</param>
    /// <param name="running">How long the gateway has been sampling: at first nothing is missing yet.</param>
    public static LampSignal Signal(
        SpotTable spots, LatestReadings latest, IReadOnlyDictionary<string, SpotEstimate> estimates, DateTimeOffset now, TimeSpan interval, TimeSpan running)
    {
        var most = LampSignal.Comfortable;
        foreach (var (name, spot) in spots)
        {
            var signal = Of(SpotId.Parse(name), spot.LimitCelsius, latest, SilentIntervals * interval, running);
            // Also of a spot that is measured here: the server may doubt what it sends, as in the shade of a van.
            if (signal < LampSignal.EstimatedTooHot && estimates.TryGetValue(name, out var estimate) && estimate.IsTooHot(spot.LimitCelsius, now))
                signal = LampSignal.EstimatedTooHot;
            if (signal > most)
                most = signal;
        }

        return most;
    }

    private static LampSignal Of(SpotId spot, double limitCelsius, LatestReadings latest, TimeSpan silent, TimeSpan running)
    {
        // A doubtful reading may warn; only a good one may clear.
        if (latest.Of(spot) is { } doubtful && doubtful.Age <= silent && doubtful.Reading.SurfaceCelsius >= limitCelsius)
            return LampSignal.TooHot;
        if (latest.GoodOf(spot) is not { } good)
            return running > silent ? LampSignal.Fault : LampSignal.Comfortable;
        // What came after it was not good, and clears nothing.
        if (good.Age <= silent)
            return good.Reading.SurfaceCelsius >= limitCelsius ? LampSignal.TooHot : LampSignal.Comfortable;
        return good.Age <= StaysHot && good.Reading.SurfaceCelsius >= limitCelsius - NearLimitKelvin
            ? LampSignal.EstimatedTooHot
            : LampSignal.Fault;
    }
}
