using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Tests.Store;

/// <summary>Readings of the invented town for the store's tests.</summary>
internal static class SomeReadings
{
    public static readonly SpotId Plaza = SpotId.Parse("north-gate-plaza");
    public static readonly SpotId Steps = SpotId.Parse("quarry-steps");

    /// <summary>14 July 2026, midnight UTC.</summary>
    public static readonly DateTimeOffset Day = new(2026, 7, 14, 0, 0, 0, TimeSpan.Zero);

    public static DateTimeOffset At(string clock) => Day + TimeSpan.Parse(clock);

    public static StoredReading Good(SpotId spot, DateTimeOffset at, double? surface, double? air = null, double? humidity = null) =>
        new(new Reading(spot, at) { SurfaceCelsius = surface, AirCelsius = air, HumidityPercent = humidity }, at.AddSeconds(2));

    public static StoredReading Suspect(SpotId spot, DateTimeOffset at, double surface, Doubt doubt = Doubt.Spike) =>
        new(
            new Reading(spot, at) { SurfaceCelsius = surface, Quality = ReadingQuality.Suspect, Doubt = doubt },
            at.AddSeconds(2));

    /// <summary>A day of a spot, a reading a minute, each different.</summary>
    public static List<StoredReading> WholeDay(SpotId spot) =>
        [.. Enumerable.Range(0, 1440).Select(minute => Good(spot, Day.AddMinutes(minute), 20 + minute / 64.0, 18 + minute / 128.0, 40))];
}
