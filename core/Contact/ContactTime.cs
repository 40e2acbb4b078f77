namespace PavementWatch.Core.Contact;

/// <summary>How long a surface may be touched: the time at which <see cref="BurnThreshold.ReversibleCelsius"/> equals its temperature.</summary>
/// <remarks>
/// Cautious: skin takes the surface's own temperature, and human skin stands in for paws, for which no threshold is
/// published. A guide to when to stay away, not a promise that a shorter touch is harmless.
/// </remarks>
public static class ContactTime
{
    /// <summary>The longest time said; a surface cooler than the curve's 10 min gets this.</summary>
    public static readonly TimeSpan Cap = TimeSpan.FromMinutes(10);

    /// <summary>How long a surface may be touched.</summary>
    /// <param name="surfaceCelsius">[°C] Surface temperature; −100 to 1000 inclusive.</param>
    /// <returns>
    /// At most <see cref="Cap"/>. Zero where the curve gives less than 1 s (above 64.2 °C), for which it does not hold:
    /// do not touch at all.
    /// </returns>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not a number or outside its range.</exception>
    public static TimeSpan Limit(double surfaceCelsius)
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
        if (log >= Math.Log(Cap.TotalMilliseconds))
            return Cap;

        var contact = TimeSpan.FromMilliseconds(Math.Exp(log));
        return contact < BurnThreshold.Shortest ? TimeSpan.Zero : contact;
    }
}
