namespace PavementWatch.Gateway.Gpio;

/// <summary>What the lamp says, the more urgent the larger.</summary>
internal enum LampSignal
{
    /// <summary>Off: no spot is too hot.</summary>
    Comfortable = 0,

    /// <summary>Short double blink: a spot gives no good readings, and nothing says that it is hot.</summary>
    Fault,

    /// <summary>Slow blink: a spot gives no good readings and was too hot, or nearly, not long ago; or the server estimates so.</summary>
    EstimatedTooHot,

    /// <summary>On: a spot is too hot.</summary>
    TooHot,
}

/// <summary>The lamp's signals as light and dark.</summary>
internal static class LampPattern
{
    private static readonly TimeSpan SlowBlink = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan Flash = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan DoubleBlink = TimeSpan.FromSeconds(3);
    private static readonly TimeSpan AllWell = TimeSpan.FromSeconds(3);

    /// <summary>Whether the lamp is lit.</summary>
    /// <param name="signal">What it says.</param>
    /// <param name="elapsed">Since some fixed moment, not negative.</param>
    public static bool IsLit(LampSignal signal, TimeSpan elapsed) => signal switch
    {
        LampSignal.TooHot => true,
        LampSignal.EstimatedTooHot => elapsed.Ticks / SlowBlink.Ticks % 2 == 0,
        LampSignal.Fault => elapsed.Ticks % DoubleBlink.Ticks / Flash.Ticks is 0 or 2,
        _ => false,
    };

    /// <summary>A long flash and some short ones, over and over.</summary>
    /// <param name="flashes">How many short ones; none for a dark lamp.</param>
    /// <param name="elapsed">Since some fixed moment, not negative.</param>
    public static bool OfWaiting(int flashes, TimeSpan elapsed)
    {
        if (flashes <= 0)
            return false;
        // A second of light, 0.6 s dark, then 0.2 s of light and 0.4 s dark for each, and two seconds until it begins anew.
        var tick = elapsed.Ticks / Flash.Ticks % (8 + (3 * flashes) + 10);
        return tick < 5 || (tick >= 8 && tick < 8 + (3 * flashes) && (tick - 8) % 3 == 0);
    }

    /// <summary>The result of a self-check in light: three seconds for all well, else a flash a fault, up to nine.</summary>
    /// <param name="faults">How many probes failed.</param>
    /// <param name="elapsed">Since the self-check ended.</param>
    /// <returns>Lit or dark; <c>null</c> once it is said.</returns>
    public static bool? OfSelfCheck(int faults, TimeSpan elapsed)
    {
        if (faults == 0)
            return elapsed < AllWell ? true : null;
        // A dark second first, so that the flashes can be counted.
        var flash = (elapsed - SlowBlink).Ticks / Flash.Ticks;
        return elapsed < SlowBlink ? false
            : flash < 4 * Math.Min(faults, 9) ? flash % 4 < 2
            : null;
    }
}
