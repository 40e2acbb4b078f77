using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>What came of reading a pack of readings.</summary>
public abstract record ReadingPackOutcome
{
    private ReadingPackOutcome()
    {
    }

    /// <summary>It is a pack; it may hold no reading at all.</summary>
    /// <param name="Readings">In time order; those of one time in the pack's order. Each (spot, time) stands once.</param>
    /// <param name="Refused">Records that were kept out, in the pack's order.</param>
    /// <param name="SpoiltReadings">How many readings (spot and time) were lost to a refused record.</param>
    public sealed record Parsed(
        IReadOnlyList<Reading> Readings, IReadOnlyList<RefusedRecord> Refused, int SpoiltReadings) : ReadingPackOutcome
    {
        /// <summary>
        /// Readings dated further ahead of the receiver's clock than <see cref="ReadingPack.MostAhead"/> or further behind it
        /// than <see cref="ReadingPack.MostBehind"/>, in time order. One of the two clocks is wrong, and nothing tells which:
        /// the sender keeps them.
        /// </summary>
        public IReadOnlyList<Reading> OtherClock { get; init; } = [];
    }

    /// <summary>It is none, and nothing of it may be used.</summary>
    /// <param name="Cause">Why, where, and the remedy.</param>
    public sealed record Malformed(SenMlOutcome.Malformed Cause) : ReadingPackOutcome;
}
