using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>Least and most of something that was seen.</summary>
/// <param name="Least">The least.</param>
/// <param name="Most">The most.</param>
public readonly record struct SeenRange(double Least, double Most)
{
    /// <summary>The value, or the edge that it lies beyond.</summary>
    /// <param name="value">NaN stays NaN.</param>
    internal double Clamp(double value) => Math.Clamp(value, Least, Most);

    /// <summary>The range with so much of its width more on either side.</summary>
    internal SeenRange Wider(double fraction) => new(Least - fraction * (Most - Least), Most + fraction * (Most - Least));

    /// <summary>How far a value lies beyond the nearer edge; 0 inside.</summary>
    /// <param name="value">NaN lies beyond nothing.</param>
    internal double Beyond(double value) => value > Most ? value - Most : value < Least ? Least - value : 0;
}

/// <summary>
/// What weather there was beside the surface readings that a fit rests on, while the sun stood as high as in one of the classes of
/// <see cref="SunHeight"/>. Of what lies outside nothing was learnt: a fit that knows dry noons and damp nights knows no damp noon.
/// </summary>
public sealed record SeenWeather
{
    /// <summary>[°C] Air; <c>null</c> where there was no reading in the class.</summary>
    public SeenRange? AirCelsius { get; init; }

    /// <summary>[%] Relative humidity; <c>null</c> where it was not known beside any reading in the class.</summary>
    public SeenRange? HumidityPercent { get; init; }

    /// <summary>[m/s] Wind; <c>null</c> likewise.</summary>
    public SeenRange? WindMetersPerSecond { get; init; }

    /// <summary>[W/m²] Measured sun; <c>null</c> likewise.</summary>
    public SeenRange? SolarWattsPerSquareMeter { get; init; }

    /// <summary>What the steps with a reading have seen.</summary>
    /// <param name="grid">The window.</param>
    /// <param name="known">Its steps with a reading.</param>
    /// <returns>One for each class, in their order; <c>null</c> without any reading.</returns>
    internal static IReadOnlyList<SeenWeather>? Of(WeatherGrid grid, IReadOnlyList<int> known)
    {
        if (known.Count == 0)
            return null;
        var byClass = known.ToLookup(i => SunHeight.Of(grid.Elevation[i]));
        return [.. Enumerable.Range(0, SunHeight.Classes).Select(one => new SeenWeather
        {
            AirCelsius = Range(byClass[one].Select(i => grid.Air[i])),
            HumidityPercent = Range(byClass[one].Select(i => HumidityAt(grid, i))),
            WindMetersPerSecond = Range(byClass[one].Select(i => grid.Wind[i])),
            SolarWattsPerSquareMeter = Range(byClass[one].Select(i => grid.Solar[i])),
        })];
    }

    /// <summary>[%] Relative humidity of a step; NaN where it is not known.</summary>
    internal static double HumidityAt(WeatherGrid grid, int i) => 100 * grid.Vapour[i] / VapourPressure.SaturationKilopascals(grid.Air[i]);

    private static SeenRange? Range(IEnumerable<double> values)
    {
        var (least, most) = (double.PositiveInfinity, double.NegativeInfinity);
        foreach (var value in values)
        {
            if (!double.IsNaN(value))
                (least, most) = (Math.Min(least, value), Math.Max(most, value));
        }

        return least <= most ? new SeenRange(least, most) : null;
    }
}
