using System.Globalization;
using System.Runtime.CompilerServices;

namespace PavementWatch.Core.Quantities;

/// <summary>What a quantity may be. Both edges belong to it; NaN and the infinities are outside. <c>default</c> holds 0 alone.</summary>
/// <param name="Least">Least value accepted.</param>
/// <param name="Most">Greatest value accepted.</param>
/// <param name="Unit">As people write it, e.g. <c>°C</c>; empty for a fraction.</param>
public readonly record struct QuantityRange(double Least, double Most, string Unit)
{
    /// <summary>Whether a value lies in the range.</summary>
    public bool Holds(double value) => value >= Least && value <= Most;

    /// <summary>Whether a value lies in the range; one that is not there does.</summary>
    public bool HoldsOrNull(double? value) => value is not { } there || Holds(there);

    /// <summary>Gives a value back.</summary>
    /// <param name="value">The value.</param>
    /// <param name="name">What is called so; the argument's own name unless given.</param>
    /// <exception cref="ArgumentOutOfRangeException">It is outside.</exception>
    public double Require(double value, [CallerArgumentExpression(nameof(value))] string name = "") => Holds(value)
        ? value
        : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value.ToString(CultureInfo.InvariantCulture)}, expected {this}");

    /// <summary>The range for a sentence, e.g. <c>-60 to 60 °C</c>.</summary>
    public override string ToString() =>
        string.Create(CultureInfo.InvariantCulture, $"{Least} to {Most}{(string.IsNullOrEmpty(Unit) ? "" : " ")}{Unit}");
}
