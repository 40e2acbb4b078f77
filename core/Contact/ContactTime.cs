namespace PavementWatch.Core.Contact;

/// <summary>After how long a surface hurts: the time at which <see cref="BurnThreshold.ReversibleCelsius"/> equals its temperature.</summary>
/// <remarks>
/// Cautious: skin takes the surface's own temperature, and human skin stands in for paws, for which no threshold is
/// published. To be asked with the hot end of what the ground may be at (<see cref="ReadingUncertainty"/>, an estimate's upper
/// end). A guide to when to stay away, not a promise that a shorter touch is harmless.
/// </remarks>
public static class ContactTime
{
    /// <summary>The longest time said; a surface cooler than the curve's 10 min gets this.</summary>
    public static readonly TimeSpan Cap = TimeSpan.FromMinutes(10);

    /// <summary>After how long a surface hurts, as far as it is said.</summary>
    /// <param name="surfaceCelsius">[°C] Surface temperature; −100 to 1000 inclusive.</param>
    /// <returns>
    /// At most <see cref="Cap"/>. Zero where the curve gives less than 1 s (above 64.2 °C), for which it does not hold:
    /// it hurts at once.
    /// </returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not a number or outside its range.</exception>
    public static TimeSpan Limit(double surfaceCelsius) =>
        HurtAfter(surfaceCelsius) is { } hurt && hurt < Cap ? hurt : Cap;

    /// <summary>After how long a surface hurts.</summary>
    /// <param name="surfaceCelsius">[°C] Surface temperature; −100 to 1000 inclusive.</param>
    /// <returns>
    /// Up to <see cref="BurnThreshold.Longest"/>; <c>null</c> where the curve gives more (under 43.8 °C). Zero where it gives less
    /// than 1 s (above 64.2 °C).
    /// </returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not a number or outside its range.</exception>
    public static TimeSpan? HurtAfter(double surfaceCelsius)
    {
        if (!(surfaceCelsius is >= -100 and <= 1000))
        {
            throw new ArgumentOutOfRangeException(nameof(surfaceCelsius), surfaceCelsius,
                $"surfaceCelsius is {surfaceCelsius}, expected -100 to 1000");
        }

        // T = A − B·L + C/L with L = ln(1000 t) is a quadratic in L; of its two roots one is positive.
        const double b = BurnThreshold.ReversibleB;
        var above = surfaceCelsius - BurnThreshold.ReversibleA;
        var log = (Math.Sqrt((above * above) + (4 * b * BurnThreshold.ReversibleC)) - above) / (2 * b);
        if (log > Math.Log(BurnThreshold.Longest.TotalMilliseconds))
            return null;

        var contact = TimeSpan.FromMilliseconds(Math.Exp(log));
        return contact < BurnThreshold.Shortest ? TimeSpan.Zero : contact;
    }
}
