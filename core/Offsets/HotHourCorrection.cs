using PavementWatch.Core.Statistics;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// How far warnings of the time ahead lean to the warm side when the surface is expected to be among the hottest of its
/// window: so far that the hours that turned out hottest would have been met on average.
/// </summary>
/// <remarks>
/// A regression's value is right on average over what it predicts, and therefore too low on average over what turns out
/// hottest: the hours that somebody is warned of. The number shown stays the one that is right on average.
/// </remarks>
/// <param name="FromCelsius">[°C] Expected surface from which it leans.</param>
/// <param name="FullCelsius">[°C] Expected surface from which it leans fully; above <paramref name="FromCelsius"/>.</param>
/// <param name="Kelvin">[K] The full lean, 0 to 4.</param>
public sealed record HotHourCorrection(double FromCelsius, double FullCelsius, double Kelvin)
{
    private const int Days = 40;
    private const int LearningDays = 4;
    private const int LeastDays = 4;
    private const double FromFraction = 0.8;
    private const double FullFraction = 0.9;
    private const double HottestFraction = 0.1;
    private const double MostKelvin = 4;
    private const double LeastRampKelvin = 0.1;

    // Steps without any lean that are thought to have been seen: a short history leans little.
    private const double PriorSteps = 10;

    /// <summary>The lean of an expected surface.</summary>
    /// <param name="surfaceCelsius">[°C] Expected surface.</param>
    /// <returns>[K] 0 to <see cref="Kelvin"/>.</returns>
    public double At(double surfaceCelsius) =>
        Kelvin * Math.Clamp((surfaceCelsius - FromCelsius) / (FullCelsius - FromCelsius), 0, 1);

    /// <summary>The lean that would have served the last days of a window.</summary>
    /// <param name="grid">The window.</param>
    /// <param name="errors">[K] Measured minus expected, each expected before its day was learnt; NaN where unknown.</param>
    /// <param name="sigma">[K] One standard deviation of the errors for each solar hour.</param>
    /// <returns>The lean; <c>null</c> in the first week, or when none is called for.</returns>
    internal static HotHourCorrection? Of(WeatherGrid grid, double[] errors, IReadOnlyList<double> sigma)
    {
        var told = new List<(double Expected, double Measured)>();
        var last = grid.Count - grid.StepsIn(24 * Days);
        var seen = 0;
        for (var i = 0; i < grid.Count; i++)
        {
            // The first days' errors are the handbook's.
            if (double.IsNaN(errors[i]) || seen++ < grid.StepsIn(24 * LearningDays) || i < last)
                continue;
            if (Math.Abs(errors[i]) <= ErrorScale.WildestSigmas * ErrorScale.At(sigma, grid.SolarHour[i]))
                told.Add((grid.Surface[i] - errors[i], grid.Surface[i]));
        }

        if (told.Count < grid.StepsIn(24 * LeastDays))
            return null;
        var expected = told.Select(t => t.Expected).Order().ToArray();
        var from = Robust.Quantile(expected, FromFraction);
        var full = Math.Max(from + LeastRampKelvin, Robust.Quantile(expected, FullFraction));
        var shape = new HotHourCorrection(from, full, 1);
        var hottest = told.OrderByDescending(t => t.Measured).Take((int)Math.Ceiling(HottestFraction * told.Count)).ToList();
        var missing = hottest.Sum(t => t.Measured - t.Expected);
        var kelvin = Math.Min(MostKelvin, missing / (hottest.Sum(t => shape.At(t.Expected)) + PriorSteps));
        return kelvin > 0 ? shape with { Kelvin = kelvin } : null;
    }
}
