namespace PavementWatch.Core.Statistics;

/// <summary>A straight line through points by medians: nearly a third of the points may be wild.</summary>
/// <remarks>
/// Source: P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, J. Am. Stat. Assoc. 63 (1968)
/// 1379–1389. The intercept is the median of y − slope·x.
/// </remarks>
public static class TheilSen
{
    /// <summary>Fits y = intercept + slope · x.</summary>
    /// <param name="x">Finite values.</param>
    /// <param name="y">Finite values, as many.</param>
    /// <returns>The line; <c>null</c> when no two points differ in x.</returns>
    /// <exception cref="ArgumentException">Lengths differ.</exception>
    public static Line? Fit(ReadOnlySpan<double> x, ReadOnlySpan<double> y)
    {
        if (x.Length != y.Length)
            throw new ArgumentException($"{y.Length} values of y, expected {x.Length}", nameof(y));

        var slopes = new List<double>(x.Length * (x.Length - 1) / 2);
        for (var i = 0; i < x.Length; i++)
        {
            for (var j = i + 1; j < x.Length; j++)
            {
                if (x[i] != x[j])
                    slopes.Add((y[j] - y[i]) / (x[j] - x[i]));
            }
        }

        if (slopes.Count == 0)
            return null;

        var slope = Robust.Median(slopes.ToArray());
        var rest = new double[x.Length];
        for (var i = 0; i < rest.Length; i++)
            rest[i] = y[i] - slope * x[i];
        return new Line(Robust.Median(rest), slope, slopes.Count);
    }

    /// <summary>A straight line.</summary>
    /// <param name="Intercept">y at x = 0, in y's unit.</param>
    /// <param name="Slope">In y's unit per unit of x.</param>
    /// <param name="Pairs">How many pairs of points with different x it rests on.</param>
    public readonly record struct Line(double Intercept, double Slope, int Pairs);
}
