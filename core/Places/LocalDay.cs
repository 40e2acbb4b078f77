namespace PavementWatch.Core.Places;

/// <summary>Local days and times of day as moments, also where the clocks change.</summary>
/// <remarks>
/// A time that the clocks show twice is its first showing. A time that they never show is the moment they pass it; so a
/// day that a zone left out begins when the day after it does, and holds nothing.
/// </remarks>
public static class LocalDay
{
    // No zone has ever been further from UTC, and none changes its clocks twice within so short a time.
    private static readonly TimeSpan FurthestFromUtc = TimeSpan.FromHours(16);

    /// <summary>The local day of a moment.</summary>
    /// <param name="zone">The place's time zone.</param>
    /// <param name="moment">Any moment.</param>
    /// <returns>The date that the clocks there show.</returns>
    public static DateOnly Of(TimeZoneInfo zone, DateTimeOffset moment)
    {
        ArgumentNullException.ThrowIfNull(zone);
        return DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(moment, zone).DateTime);
    }

    /// <summary>First moment of a local day; the day ends where the next one starts.</summary>
    /// <param name="zone">The place's time zone.</param>
    /// <param name="day">The day; from 2 January of year 1 to 30 December 9999.</param>
    /// <returns>UTC.</returns>
    public static DateTimeOffset Start(TimeZoneInfo zone, DateOnly day) => At(zone, day, TimeSpan.Zero);

    /// <summary>When the clocks of a zone show a time on a day.</summary>
    /// <param name="zone">The place's time zone.</param>
    /// <param name="day">The day; from 2 January of year 1 to 30 December 9999.</param>
    /// <param name="timeOfDay">0 to less than 24 h; what the clocks show, not how long the day is old.</param>
    /// <returns>UTC.</returns>
    public static DateTimeOffset At(TimeZoneInfo zone, DateOnly day, TimeSpan timeOfDay)
    {
        ArgumentNullException.ThrowIfNull(zone);
        // The time as if it were UTC: the moment wanted is this minus the zone's offset then.
        var shown = new DateTimeOffset(day.ToDateTime(TimeOnly.MinValue) + timeOfDay, TimeSpan.Zero);
        var before = zone.GetUtcOffset(shown - FurthestFromUtc);
        var after = zone.GetUtcOffset(shown + FurthestFromUtc);
        if (zone.GetUtcOffset(shown - before) == before)
            return shown - before;
        if (zone.GetUtcOffset(shown - after) == after)
            return shown - after;
        return Passing(zone, shown, shown - after, shown - before);
    }

    /// <summary>The first moment at which the clocks have passed a time they never show.</summary>
    private static DateTimeOffset Passing(TimeZoneInfo zone, DateTimeOffset shown, DateTimeOffset notYet, DateTimeOffset passed)
    {
        var (low, high) = (notYet.Ticks, passed.Ticks);
        while (high - low > 1)
        {
            var middle = low + ((high - low) / 2);
            var moment = new DateTimeOffset(middle, TimeSpan.Zero);
            if (moment + zone.GetUtcOffset(moment) < shown)
                low = middle;
            else
                high = middle;
        }

        return new DateTimeOffset(high, TimeSpan.Zero);
    }
}
