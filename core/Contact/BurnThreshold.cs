namespace PavementWatch.Core.Contact;

/// <summary>Contact temperature at which human skin is hurt after a given time. No threshold for paws was found published.</summary>
/// <remarks>
/// Source: ASTM C1055, Standard Guide for Heated System Surface Conditions that Produce Contact Burn Injuries, the
/// reversible-injury curve of its threshold figure; constants from memory. It runs a little under published
/// time–temperature tables of burns after Moritz and Henriques 1947. Valid from 1 s to 6 h; refused outside.
/// </remarks>
public static class BurnThreshold
{
    /// <summary>Shortest contact the curves hold for.</summary>
    public static readonly TimeSpan Shortest = TimeSpan.FromSeconds(1);

    /// <summary>Longest contact the curves hold for.</summary>
    public static readonly TimeSpan Longest = TimeSpan.FromHours(6);

    // T_B = A − B·ln(1000 t) + C/ln(1000 t), t in seconds.
    internal const double ReversibleA = 39.468;
    internal const double ReversibleB = 0.41352;
    internal const double ReversibleC = 190.60;

    /// <summary>First injury, reversible (T_B): first degree.</summary>
    /// <param name="contact">1 s to 6 h inclusive.</param>
    /// <returns>[°C] Contact temperature.</returns>
    /// <exception cref="ArgumentOutOfRangeException">The time is outside its range.</exception>
    public static double ReversibleCelsius(TimeSpan contact)
    {
        var log = LogMilliseconds(contact);
        return ReversibleA - (ReversibleB * log) + (ReversibleC / log);
    }

    private static double LogMilliseconds(TimeSpan contact) =>
        contact >= Shortest && contact <= Longest
            ? Math.Log(contact.TotalMilliseconds)
            : throw new ArgumentOutOfRangeException(nameof(contact), contact, $"contact is {contact}, expected {Shortest} to {Longest}");
}
