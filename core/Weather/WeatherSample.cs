using System.Runtime.InteropServices;
using PavementWatch.Core.Statistics;

namespace PavementWatch.Core.Weather;

/// <summary>What was known at a spot at one moment; the offset's input. A forecast sample has no surface.</summary>
/// <param name="At">End of the averaging interval, UTC.</param>
/// <param name="AirCelsius">[°C] Air temperature.</param>
public readonly record struct WeatherSample(DateTimeOffset At, double AirCelsius)
{
    /// <summary>[%] Relative humidity, 0 to 100.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[m/s] Wind speed.</summary>
    public double? WindMetersPerSecond { get; init; }

    /// <summary>[W/m²] Global horizontal irradiance.</summary>
    public double? SolarWattsPerSquareMeter { get; init; }

    /// <summary>[°C] Good surface reading, if there was one; suspect readings are left out by the caller.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] A surface reading that is doubted for the warmth of its sensor alone, where there is no good one: a fit learns from it with less weight, and nothing else uses it.</summary>
    public double? DoubtedSurfaceCelsius { get; init; }

    /// <summary>Index of the first sample later than a moment.</summary>
    /// <param name="samples">In time order.</param>
    /// <param name="moment">The moment.</param>
    /// <returns>0 when all are later, their number when none is.</returns>
    public static int FirstAfter(IReadOnlyList<WeatherSample> samples, DateTimeOffset moment) =>
        Ascending.CountUpTo(samples, moment, static (sample, at) => sample.At > at);

    /// <summary>Samples in one run of memory; a list that is none is copied.</summary>
    /// <param name="samples">The samples; not changed while the span is looked at.</param>
    internal static ReadOnlySpan<WeatherSample> SpanOf(IReadOnlyList<WeatherSample> samples) => samples switch
    {
        List<WeatherSample> list => CollectionsMarshal.AsSpan(list),
        WeatherSample[] array => array,
        _ => samples.ToArray(),
    };
}
