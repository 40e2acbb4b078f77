namespace PavementWatch.Core.Readings;

/// <summary>What a reading's fields may hold. All ranges inclusive; NaN and the infinities are outside all of them.</summary>
/// <remarks>Temperatures: wider than any pavement or air on Earth, narrower than any sensor's error value. Common practice, no source.</remarks>
public static class ReadingRange
{
    /// <summary>[°C] Coldest surface accepted.</summary>
    public const double SurfaceMinCelsius = -50;

    /// <summary>[°C] Hottest surface accepted; the hottest ground in sun in the reference is 93 °C (artificial turf).</summary>
    public const double SurfaceMaxCelsius = 120;

    /// <summary>[°C] Coldest air accepted.</summary>
    public const double AirMinCelsius = -50;

    /// <summary>[°C] Hottest air accepted.</summary>
    public const double AirMaxCelsius = 60;

    /// <summary>[°C] Coldest sensor body accepted (MLX90614 data sheet).</summary>
    public const double SensorMinCelsius = -40;

    /// <summary>[°C] Hottest sensor body accepted (MLX90614 data sheet).</summary>
    public const double SensorMaxCelsius = 125;

    /// <summary>Looks at every field that is present.</summary>
    /// <param name="reading">The reading to look at.</param>
    /// <returns>The first field at fault, what was found and what was expected; <c>null</c> when all is in range.</returns>
    public static FieldFault? FirstFault(Reading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        return Check("surface", reading.SurfaceCelsius, SurfaceMinCelsius, SurfaceMaxCelsius)
            ?? Check("air", reading.AirCelsius, AirMinCelsius, AirMaxCelsius)
            ?? Check("humidity", reading.HumidityPercent, 0, 100)
            ?? Check("sensor", reading.SensorCelsius, SensorMinCelsius, SensorMaxCelsius)
            ?? Check("light", reading.LightLux, 0, 200_000)
            ?? Check("supply", reading.SupplyVolts, 0, 60);
    }

    private static FieldFault? Check(string field, double? value, double min, double max) =>
        value is { } v && !(v >= min && v <= max) ? new FieldFault(field, v, min, max) : null;
}

/// <summary>A field outside its range.</summary>
/// <param name="Field">The field's name on the wire.</param>
/// <param name="Value">What was found.</param>
/// <param name="Min">Least accepted.</param>
/// <param name="Max">Most accepted.</param>
public sealed record FieldFault(string Field, double Value, double Min, double Max)
{
    /// <summary>The fault as a sentence for a log or an answer.</summary>
    public override string ToString() => $"{Field} is {Value}, expected {Min} to {Max}";
}
