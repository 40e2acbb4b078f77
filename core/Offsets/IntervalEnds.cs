using PavementWatch.Core.Statistics;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>
/// How much further out the ends of a spot's 90 % interval lie where its surface is expected among the hottest of the last
/// weeks and the sun stands high. An interval that is right on average is too narrow just there.
/// </summary>
/// <remarks>
/// Each end is learnt on its own from the hot hours of the past, as far as they lay beyond the interval of all hours: a
/// conformal quantile of a class of its own (Vovk, Gammerman and Shafer, Algorithmic Learning in a Random World, Springer
/// 2005, the conditional or Mondrian kind), drawn to a prior while there are few of them. The class has no edge: heat grows
/// from 0 to 1 between two expected temperatures, and on beyond what was seen.
/// </remarks>
/// <param name="FromCelsius">[°C] Expected surface from which heat grows.</param>
/// <param name="FullCelsius">[°C] Expected surface of heat 1 under a high sun; above <paramref name="FromCelsius"/>.</param>
/// <param name="UpperGrowth">[fraction] So much further out is the upper end for each 1 of heat; 0 to 3.</param>
/// <param name="LowerGrowth">[fraction] So much further out is the lower end for each 1 of heat; 0 to 3.</param>
public sealed record IntervalEnds(double FromCelsius, double FullCelsius, double UpperGrowth, double LowerGrowth)
{
    private const int Days = 40;
    private const int LearningDays = 4;
    private const int LeastDays = 4;
    private const double FromFraction = 0.8;
    private const double FullFraction = 0.9;
    private const double LeastRampKelvin = 0.1;
    private const double MostHeat = 3;
    private const double HighSunWattsPerSquareMeter = 300;

    // An hour with less says too little of the growth.
    private const double TellingHeat = 0.5;

    // On the upper side hot days come in a row and beyond what was seen; what is learnt must hold for the next ones, too.
    private const double OverUpperFraction = 0.03;
    private const double UnderLowerFraction = 0.05;
    private const double PriorUpperGrowth = 0.6;
    private const double PriorHours = 40;
    private const double MostGrowth = 3;

    /// <summary>How hot an hour is for this spot and season.</summary>
    /// <param name="expectedCelsius">[°C] Expected surface.</param>
    /// <param name="clearSunWattsPerSquareMeter">[W/m²] Clear-sky sun.</param>
    /// <returns>0 on most hours and at night, about 1 on the hottest tenth, up to 3 beyond what was seen.</returns>
    public double HeatAt(double expectedCelsius, double clearSunWattsPerSquareMeter) =>
        Math.Clamp((expectedCelsius - FromCelsius) / (FullCelsius - FromCelsius), 0, MostHeat)
        * Math.Clamp(clearSunWattsPerSquareMeter / HighSunWattsPerSquareMeter, 0, 1);

    /// <summary>[fraction] Of the plain half-width, how far the upper end lies from the expected surface.</summary>
    /// <param name="heat">See <see cref="HeatAt"/>.</param>
    /// <returns>1 or more.</returns>
    public double Upper(double heat) => 1 + UpperGrowth * heat;

    /// <summary>[fraction] Of the plain half-width, how far the lower end lies from the expected surface.</summary>
    /// <param name="heat">See <see cref="HeatAt"/>.</param>
    /// <returns>1 or more.</returns>
    public double Lower(double heat) => 1 + LowerGrowth * heat;

    /// <summary>What the days before a moment teach of the ends.</summary>
    /// <param name="grid">The window.</param>
    /// <param name="errors">[K] Measured minus expected, each expected before its day was learnt; NaN where unknown.</param>
    /// <param name="scaled">[standard deviations] The same.</param>
    /// <param name="end">Steps from here on are not looked at.</param>
    /// <param name="quantile">[standard deviations] Half-width of the interval of all hours.</param>
    /// <returns>The ends; <c>null</c> in the first week.</returns>
    internal static IntervalEnds? Of(WeatherGrid grid, double[] errors, double[] scaled, int end, double quantile)
    {
        var first = end - grid.StepsIn(24 * Days);
        var seen = 0;
        var known = new List<int>();
        var expected = new List<double>();
        for (var i = 0; i < end; i++)
        {
            // The first days' errors are the handbook's.
            if (double.IsNaN(errors[i]) || seen++ < grid.StepsIn(24 * LearningDays) || i < first)
                continue;
            known.Add(i);
            expected.Add(grid.Surface[i] - errors[i]);
        }

        if (known.Count < grid.StepsIn(24 * LeastDays))
            return null;
        double[] sorted = [.. expected];
        Array.Sort(sorted);
        var from = Robust.Quantile(sorted, FromFraction);
        var full = Math.Max(from + LeastRampKelvin, Robust.Quantile(sorted, FullFraction));
        var plain = new IntervalEnds(from, full, 0, 0);
        var (over, under) = (new List<double>(), new List<double>());
        for (var k = 0; k < known.Count; k++)
        {
            var heat = plain.HeatAt(expected[k], grid.Clear[known[k]]);
            if (heat < TellingHeat)
                continue;
            over.Add((scaled[known[k]] / quantile - 1) / heat);
            under.Add((-scaled[known[k]] / quantile - 1) / heat);
        }

        var prior = PriorHours * 60 / grid.StepMinutes;
        return plain with
        {
            UpperGrowth = Growth(over, OverUpperFraction, PriorUpperGrowth, prior),
            LowerGrowth = Growth(under, UnderLowerFraction, 0, prior),
        };
    }

    /// <summary>The growth that a share of the hot hours would not have sufficed, together with so many steps that ask for the prior.</summary>
    private static double Growth(List<double> asked, double leftOutFraction, double prior, double priorSteps)
    {
        if (asked.Count == 0)
            return prior;
        asked.Sort();
        var learnt = Robust.Quantile([.. asked], 1 - leftOutFraction);
        return Math.Clamp((asked.Count * learnt + priorSteps * prior) / (asked.Count + priorSteps), 0, MostGrowth);
    }
}
