using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Agreement;

/// <summary>What the analyst asks of a method. Common practice, no source: theirs to set.</summary>
public sealed record AgreementThresholds
{
    /// <summary>Fewest days on which the pairs were measured: those of one afternoon share its sun, its wind and how somebody stood.</summary>
    public const int LeastDays = 3;

    /// <summary>Fewest pairs for a verdict; 3 or more, 8 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public int LeastPairs
    {
        get;
        init => field = value >= BlandAltman.LeastPairs
            ? value
            : throw new ArgumentOutOfRangeException(nameof(LeastPairs), value, $"LeastPairs is {value}, expected {BlandAltman.LeastPairs} or more");
    } = 8;

    /// <summary>[K] Largest bias either way; over 0, 1 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double MostBiasKelvin { get; init => field = Over0(value, nameof(MostBiasKelvin)); } = 1;

    /// <summary>[K] Furthest a limit of agreement may lie from 0; over 0, 4 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double MostDifferenceKelvin { get; init => field = Over0(value, nameof(MostDifferenceKelvin)); } = 4;

    /// <summary>[K] Span of temperatures that a gain can be told from; over 0, 15 unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double LeastSpanKelvin { get; init => field = Over0(value, nameof(LeastSpanKelvin)); } = 15;

    /// <summary>[K] How far the hand-held thermometer may be off itself, either way; <see cref="QuantityRanges.ThermometerAccuracy"/>, <see cref="HandHeldReading.AccuracyKelvin"/> unless set.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the range.</exception>
    public double ThermometerAccuracyKelvin
    {
        get;
        init => field = QuantityRanges.ThermometerAccuracy.Require(value, nameof(ThermometerAccuracyKelvin));
    } = HandHeldReading.AccuracyKelvin;

    private static double Over0(double value, string name) =>
        value > 0 && double.IsFinite(value)
            ? value
            : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value}, expected a finite number over 0");
}
