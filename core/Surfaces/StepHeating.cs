namespace PavementWatch.Core.Surfaces;

/// <summary>How fast the ground's surface warms when the sun comes back: a step of absorbed flux into a half-space.</summary>
/// <remarks>
/// Holds while the warmth has not gone through the layer, so for slabs and soil over an hour or more; a plate in the air is no
/// half-space and follows at once.
/// </remarks>
public static class StepHeating
{
    /// <summary>[W/(m²·K)] What a warm surface loses to sky and air on a calm day, 6 of it by radiation. Common practice, no source; wind makes it more.</summary>
    public const double CalmLossWattsPerSquareMeterKelvin = 10;

    /// <summary>The rise with nothing lost: an upper bound.</summary>
    /// <param name="fluxWattsPerSquareMeter">[W/m²] Absorbed flux from the moment 0 on; 0 or more.</param>
    /// <param name="effusivity">[W·s½/(m²·K)] The ground's effusivity; over 0.</param>
    /// <param name="time">Since the moment 0; not negative.</param>
    /// <returns>[K] 0 or more.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is outside its range.</exception>
    /// <remarks>Source: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959, section 2.9: ΔT = 2·q·√(t/π)/e; from memory.</remarks>
    public static double RiseKelvin(double fluxWattsPerSquareMeter, double effusivity, TimeSpan time) =>
        2 * NotNegative(fluxWattsPerSquareMeter) * Math.Sqrt(NotNegative(time.TotalSeconds) / Math.PI) / Over0(effusivity);

    /// <summary>How long it takes to rise so far, with nothing lost: it is not sooner.</summary>
    /// <param name="riseKelvin">[K] 0 or more.</param>
    /// <param name="fluxWattsPerSquareMeter">[W/m²] Absorbed flux; over 0.</param>
    /// <param name="effusivity">[W·s½/(m²·K)] The ground's effusivity; over 0.</param>
    /// <returns>The time; the rise turned round.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is outside its range, or the time is longer than a day.</exception>
    public static TimeSpan TimeToRise(double riseKelvin, double fluxWattsPerSquareMeter, double effusivity)
    {
        var root = NotNegative(riseKelvin) * Over0(effusivity) / (2 * Over0(fluxWattsPerSquareMeter));
        var seconds = Math.PI * root * root;
        return seconds <= TimeSpan.SecondsPerDay
            ? TimeSpan.FromSeconds(seconds)
            : throw new ArgumentOutOfRangeException(nameof(riseKelvin), riseKelvin, $"a rise of {riseKelvin} K takes longer than a day");
    }

    /// <summary>The rise while the surface loses warmth in proportion to it.</summary>
    /// <param name="fluxWattsPerSquareMeter">[W/m²] Absorbed flux from the moment 0 on; 0 or more.</param>
    /// <param name="effusivity">[W·s½/(m²·K)] The ground's effusivity; 0 or more. 0 stores nothing and follows at once.</param>
    /// <param name="time">Since the moment 0; not negative.</param>
    /// <param name="lossWattsPerSquareMeterKelvin">[W/(m²·K)] The loss; over 0, see <see cref="CalmLossWattsPerSquareMeterKelvin"/>.</param>
    /// <returns>[K] 0 to the flux over the loss.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is outside its range.</exception>
    /// <remarks>
    /// Source: the same, section 2.7: ΔT = q/h·(1 − exp(x²)·erfc(x)) with x = h·√t/e; from memory. exp(x²)·erfc(x) after Abramowitz
    /// and Stegun, Handbook of Mathematical Functions, 1964, 7.1.26; by it the rise is off by 0.3 % at most.
    /// </remarks>
    public static double RiseKelvin(
        double fluxWattsPerSquareMeter, double effusivity, TimeSpan time, double lossWattsPerSquareMeterKelvin)
    {
        var most = NotNegative(fluxWattsPerSquareMeter) / Over0(lossWattsPerSquareMeterKelvin);
        var seconds = NotNegative(time.TotalSeconds);
        if (NotNegative(effusivity) == 0)
            return seconds > 0 ? most : 0;
        var x = lossWattsPerSquareMeterKelvin * Math.Sqrt(seconds) / effusivity;
        var t = 1 / (1 + (0.3275911 * x));
        var kept = t * (0.254829592 + (t * (-0.284496736 + (t * (1.421413741 + (t * (-1.453152027 + (t * 1.061405429))))))));
        return most * Math.Clamp(1 - kept, 0, 1);
    }

    private static double NotNegative(double value) =>
        value >= 0 && double.IsFinite(value)
            ? value
            : throw new ArgumentOutOfRangeException(nameof(value), value, $"found {value}, expected a finite number, 0 or more");

    private static double Over0(double value) =>
        value > 0 && double.IsFinite(value)
            ? value
            : throw new ArgumentOutOfRangeException(nameof(value), value, $"found {value}, expected a finite number over 0");
}
