namespace PavementWatch.Core.Agreement;

/// <summary>A confidence interval, both ends included.</summary>
/// <param name="Low">Lower end, in the unit of what it belongs to.</param>
/// <param name="High">Upper end.</param>
public readonly record struct Interval(double Low, double High)
{
    /// <summary>Whether a value lies in it; NaN lies in none.</summary>
    /// <param name="value">The value.</param>
    /// <returns>Whether it does.</returns>
    public bool Contains(double value) => value >= Low && value <= High;
}
