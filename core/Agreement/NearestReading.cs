using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Agreement;

/// <summary>Finds the sensor's reading that a hand-held check is held against.</summary>
public static class NearestReading
{
    /// <summary>How far apart a check and a reading may be.</summary>
    public static readonly TimeSpan Within = TimeSpan.FromMinutes(5);

    /// <summary>The good surface reading nearest in time.</summary>
    /// <param name="inTimeOrder">Readings of the spot, oldest first.</param>
    /// <param name="at">When the check was made, UTC.</param>
    /// <param name="within">How far apart they may be, inclusive; <see cref="Within"/> unless given.</param>
    /// <returns>The reading, of two as near the earlier; <c>null</c> when there is none.</returns>
    public static Reading? Find(IReadOnlyList<Reading> inTimeOrder, DateTimeOffset at, TimeSpan? within = null)
    {
        ArgumentNullException.ThrowIfNull(inTimeOrder);
        var most = within ?? Within;
        int low = 0, high = inTimeOrder.Count;
        while (low < high)
        {
            var middle = low + ((high - low) / 2);
            if (inTimeOrder[middle].MeasuredAt < at - most)
                low = middle + 1;
            else
                high = middle;
        }

        Reading? nearest = null;
        for (var i = low; i < inTimeOrder.Count && inTimeOrder[i].MeasuredAt <= at + most; i++)
        {
            var reading = inTimeOrder[i];
            if (reading is not { Quality: ReadingQuality.Good, SurfaceCelsius: not null })
                continue;
            if (nearest is null || (reading.MeasuredAt - at).Duration() < (nearest.MeasuredAt - at).Duration())
                nearest = reading;
        }

        return nearest;
    }
}
