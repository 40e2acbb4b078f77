using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Watch;

/// <summary>What stored readings say of ice; see <see cref="IceMemory"/>.</summary>
internal static class IceHistory
{
    /// <summary>The same after a step. One whose readings are all in doubt says nothing.</summary>
    public static IceMemory After(this IceMemory ice, ReadingStep step, TimeSpan longestGap) =>
        step.SurfaceCelsius is { } celsius ? ice.After(SightOf(step, celsius), longestGap) : ice.Unseen(step.End);

    /// <summary>The same after a reading, whenever it came.</summary>
    public static IceMemory After(this IceMemory ice, Reading reading, TimeSpan longestGap) =>
        IceSteps.SightOf(reading) is { } sight ? ice.After(sight, longestGap) : ice;

    /// <summary>What a step's good readings say of ice.</summary>
    public static GroundSight SightOf(ReadingStep step, double celsius) => new(step.End, celsius, GroundEvidence.Good)
    {
        AirCelsius = step.AirCelsius,
        HumidityPercent = step.HumidityPercent,
        Wet = step.Doubts.HasFlag(Doubt.Wet),
    };
}
