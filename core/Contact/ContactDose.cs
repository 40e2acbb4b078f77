namespace PavementWatch.Core.Contact;

/// <summary>Time on one kind of ground along a route.</summary>
/// <param name="SurfaceCelsius">[°C] The ground, with its uncertainty; −100 to 1000 inclusive.</param>
/// <param name="Time">How long it is walked on; 0 or more.</param>
public readonly record struct ContactStretch(double SurfaceCelsius, TimeSpan Time);

/// <summary>What touching several surfaces one after another adds up to: the sum of each time over the time that would hurt there.</summary>
/// <remarks>
/// As injuries add up in exposure limits in general (Miner's rule; common practice, no source for skin). Feet are taken to touch the
/// ground all the time, and nothing is thought to heal or cool on the way: cautious. Human skin stands in for paws.
/// </remarks>
public static class ContactDose
{
    /// <summary>The dose of a route.</summary>
    /// <param name="route">Its stretches, in any order.</param>
    /// <returns>
    /// [1] At 1 skin is hurt. 0 where nothing on the way hurts within <see cref="BurnThreshold.Longest"/>; infinite where any of it
    /// hurts at once.
    /// </returns>
    /// <exception cref="ArgumentOutOfRangeException">A temperature is not a number or outside its range, or a time is under 0.</exception>
    public static double Of(IEnumerable<ContactStretch> route)
    {
        ArgumentNullException.ThrowIfNull(route);
        return route.Sum(Of);
    }

    /// <summary>When on the way skin is hurt.</summary>
    /// <param name="route">Its stretches, in the order they are walked.</param>
    /// <returns>Time from the start at which the dose reaches 1; <c>null</c> when it does not.</returns>
    /// <exception cref="ArgumentOutOfRangeException">As for <see cref="Of(IEnumerable{ContactStretch})"/>.</exception>
    public static TimeSpan? HurtAfter(IEnumerable<ContactStretch> route)
    {
        ArgumentNullException.ThrowIfNull(route);
        var (dose, walked) = (0.0, TimeSpan.Zero);
        foreach (var stretch in route)
        {
            var more = Of(stretch);
            if (dose + more >= 1)
                return walked + (double.IsFinite(more) ? (1 - dose) / more * stretch.Time : TimeSpan.Zero);
            dose += more;
            walked += stretch.Time;
        }

        return null;
    }

    private static double Of(ContactStretch stretch)
    {
        if (stretch.Time < TimeSpan.Zero)
            throw new ArgumentOutOfRangeException(nameof(stretch), stretch.Time, $"Time is {stretch.Time}, expected 0 or more");
        return ContactTime.HurtAfter(stretch.SurfaceCelsius) is { } hurt && stretch.Time > TimeSpan.Zero ? stretch.Time / hurt : 0;
    }
}
