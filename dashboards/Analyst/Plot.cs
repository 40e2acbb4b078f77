using System.Globalization;
using PavementWatch.Dashboards.Checks;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>A plot as <c>wwwroot/js/plots.js</c> draws it. The table below each holds the same for those who see no plot.</summary>
/// <param name="XName">What the horizontal axis shows, with its unit.</param>
/// <param name="YName">What the vertical axis shows, with its unit.</param>
/// <param name="Series">What is drawn, in order.</param>
public sealed record Plot(string XName, string YName, IReadOnlyList<PlotSeries> Series)
{
    /// <summary>Level lines with their words.</summary>
    public IReadOnlyList<PlotLine> Lines { get; init; } = [];

    /// <summary>Whether the horizontal axis is time, in milliseconds since 1970.</summary>
    public bool IsTime { get; init; }

    /// <summary>Whether a line where both axes are the same is drawn.</summary>
    public bool Diagonal { get; init; }

    /// <summary>Differences of sensor or estimate and checks over their mean, with bias and limits of agreement.</summary>
    public static Plot Agreement(MethodComparison method)
    {
        var lines = new List<PlotLine> { new(0, "", PlotTone.Quiet) };
        if (method.Agreement is { } agreement)
        {
            lines.Add(new(agreement.BiasKelvin, Signed("bias", agreement.BiasKelvin), PlotTone.Strong));
            lines.Add(new(agreement.LowerLimitKelvin, Signed("lower limit", agreement.LowerLimitKelvin), PlotTone.Dashed));
            lines.Add(new(agreement.UpperLimitKelvin, Signed("upper limit", agreement.UpperLimitKelvin), PlotTone.Dashed));
        }

        return new Plot("mean of both (°C)", "minus check (K)",
            [new("checks", PlotKind.Points, [.. method.Pairs.Select(p => new[] { (p.CheckedCelsius + p.ReferenceCelsius) / 2, p.DifferenceKelvin })])])
        {
            Lines = lines,
        };
    }

    /// <summary>Residuals over something; what the fit has learned from stands apart.</summary>
    public static Plot Residuals(string xName, IReadOnlyList<ResidualPoint> points, Func<ResidualPoint, double> x)
    {
        double[][] Of(bool learned) => [.. points.Where(p => p.Learned == learned).Select(p => new[] { Math.Round(x(p), 2), Math.Round(p.ResidualKelvin, 2) })];
        return new Plot(xName, "measured minus estimated (K)",
            [.. new PlotSeries[] { new("learned from", PlotKind.Faint, Of(true)), new("not seen before", PlotKind.Points, Of(false)) }.Where(s => s.Points.Count > 0)])
        {
            Lines = [new(0, "", PlotTone.Quiet)],
        };
    }

    private static string Signed(string what, double kelvin) =>
        string.Create(CultureInfo.InvariantCulture, $"{what} {kelvin:+0.0;-0.0} K");
}

/// <summary>One row of points.</summary>
public sealed record PlotSeries(string Name, PlotKind Kind, IReadOnlyList<double[]> Points);

/// <summary>A level line.</summary>
public sealed record PlotLine(double Y, string Name, PlotTone Tone);

/// <summary>How points look.</summary>
public enum PlotKind
{
    /// <summary>Dots.</summary>
    Points,

    /// <summary>Small pale rings.</summary>
    Faint,

    /// <summary>Dots joined by a line.</summary>
    Line,
}

/// <summary>How a level line looks.</summary>
public enum PlotTone
{
    /// <summary>Thin.</summary>
    Quiet,

    /// <summary>Thick.</summary>
    Strong,

    /// <summary>Dashed.</summary>
    Dashed,
}
