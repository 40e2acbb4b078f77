using PavementWatch.Core.Quantities;

namespace PavementWatch.Core.Readings;

/// <summary>Looks whether a reading's fields are within <see cref="QuantityRanges"/>.</summary>
public static class ReadingRange
{
    /// <summary>Looks at every field that is present.</summary>
    /// <param name="reading">The reading to look at.</param>
    /// <returns>The first field at fault, what was found and what was expected; <c>null</c> when all is in range.</returns>
    public static FieldFault? FirstFault(Reading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        return Check("surface", reading.SurfaceCelsius, QuantityRanges.Surface)
            ?? Check("air", reading.AirCelsius, QuantityRanges.Air)
            ?? Check("humidity", reading.HumidityPercent, QuantityRanges.Humidity)
            ?? Check("sensor", reading.SensorCelsius, QuantityRanges.SensorBody)
            ?? Check("light", reading.LightLux, QuantityRanges.Light)
            ?? Check("supply", reading.SupplyVolts, QuantityRanges.Supply)
            ?? Check("spread", reading.SpreadKelvin, QuantityRanges.Spread);
    }

    private static FieldFault? Check(string field, double? value, QuantityRange range) =>
        range.HoldsOrNull(value) ? null : new FieldFault(field, value!.Value, range);
}

/// <summary>A field outside its range.</summary>
/// <param name="Field">The field's name on the wire.</param>
/// <param name="Value">What was found.</param>
/// <param name="Range">What is accepted.</param>
public sealed record FieldFault(string Field, double Value, QuantityRange Range)
{
    /// <summary>The fault as a sentence for a log or an answer.</summary>
    public override string ToString() => FormattableString.Invariant($"{Field} is {Value}, expected {Range}");
}
