namespace PavementWatch.Core.Contact;

/// <summary>Time on one kind of ground along a route.</summary>
/// <param name="SurfaceCelsius">[°C] The ground, with its uncertainty; −100 to 1000 inclusive. <c>null</c> where it is not known.</param>
/// <param name="Time">How long it is walked on; 0 or more.</param>
public readonly record struct ContactStretch(double? SurfaceCelsius, TimeSpan Time);

/// <summary>What touching several surfaces one after another adds up to: the sum of each time over the time that would hurt there.</summary>
/// <remarks>
/// As injuries add up in exposure limits in general (Miner's rule; common practice, no source for skin). Feet are taken to touch the
/// ground all the time, and nothing is thought to heal or cool on the way: cautious. Human skin stands in for paws.
/// </remarks>
public sealed record ContactDose
{
    private ContactDose(double known, bool isWhole, TimeSpan? hurtAfter) => (KnownFraction, IsWhole, HurtAfter) = (known, isWhole, hurtAfter);

    /// <summary>
    /// [fraction] What is known of it: at 1 skin is hurt. 0 where nothing that is known hurts within <see cref="BurnThreshold.Longest"/>;
    /// infinite where any of it hurts at once. The whole is never less.
    /// </summary>
    public double KnownFraction { get; }

    /// <summary>Whether all of the ground is known.</summary>
    public bool IsWhole { get; }

    /// <summary>Time from the start at which the known dose reaches 1; <c>null</c> when it does not. Where not all is known it may be earlier.</summary>
    public TimeSpan? HurtAfter { get; }

    /// <summary>[fraction] The dose; <c>null</c> where some of the ground is not known and the rest does not hurt by itself.</summary>
    public double? Fraction => IsWhole || HurtAfter is not null ? KnownFraction : null;

    /// <summary>The dose of a route.</summary>
    /// <param name="route">Its stretches, in the order they are walked.</param>
    /// <returns>The dose.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A temperature is not a number or outside its range, or a time is under 0.</exception>
    public static ContactDose Of(IEnumerable<ContactStretch> route)
    {
        ArgumentNullException.ThrowIfNull(route);
        var (dose, isWhole, walked, hurt) = (0.0, true, TimeSpan.Zero, (TimeSpan?)null);
        foreach (var stretch in route)
        {
            if (stretch.Time < TimeSpan.Zero)
                throw new ArgumentOutOfRangeException(nameof(route), stretch.Time, $"Time is {stretch.Time}, expected 0 or more");
            var more = stretch.SurfaceCelsius is { } celsius ? Of(celsius, stretch.Time) : 0;
            isWhole &= stretch.SurfaceCelsius is not null || stretch.Time == TimeSpan.Zero;
            if (hurt is null && dose + more >= 1)
                hurt = walked + (double.IsFinite(more) ? (1 - dose) / more * stretch.Time : TimeSpan.Zero);
            dose += more;
            walked += stretch.Time;
        }

        return new ContactDose(dose, isWhole, hurt);
    }

    private static double Of(double celsius, TimeSpan time) =>
        ContactTime.HurtAfter(celsius) is { } hurt && time > TimeSpan.Zero ? time / hurt : 0;
}
