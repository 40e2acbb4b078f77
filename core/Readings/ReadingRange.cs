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

    /// <summary>The reading without what is out of range beside its surface: what ails an air probe says nothing of the ground.</summary>
    /// <param name="reading">The reading to look at.</param>
    /// <returns>The same, with <c>null</c> for each such field; only its surface may still be out of range.</returns>
    public static Reading WithSoundCompanions(Reading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        return reading with
        {
            AirCelsius = Sound(reading.AirCelsius, QuantityRanges.Air),
            HumidityPercent = Sound(reading.HumidityPercent, QuantityRanges.Humidity),
            SensorCelsius = Sound(reading.SensorCelsius, QuantityRanges.SensorBody),
            LightLux = Sound(reading.LightLux, QuantityRanges.Light),
            SupplyVolts = Sound(reading.SupplyVolts, QuantityRanges.Supply),
            SpreadKelvin = Sound(reading.SpreadKelvin, QuantityRanges.Spread),
        };
    }

    private static double? Sound(double? value, QuantityRange range) => range.HoldsOrNull(value) ? value : null;

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
